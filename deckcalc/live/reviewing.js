// The review of a job in a browser: a table of inputs to type in, and what they move. All is worked out in Python.
const REST = 350; // milliseconds of rest after a key until the job is computed
const PATIENCE = 20; // seconds of work until the page says that there may be no answer
const ROWS = 25; // inputs that stand there at first
const MOVED = 6; // results of a sheet that stand there at first
const SIGNS = { better: "✓ ", worse: "✗ ", check: "" };
let pages = 0;

class Page {
  constructor(model, el) {
    this.model = model;
    this.id = `deckcalc-review-${++pages}-${Math.random().toString(36).slice(2, 8)}`;
    this.root = make("div", { class: "deckcalc review", lang: "en" });
    el.append(this.root);
    this.all = new Set();
    this.frame();
    this.build();
    this.show();
    const on = (name, told) => { model.on(`change:${name}`, told); return () => model.off(`change:${name}`, told); };
    this.off = [on("declared", () => this.build()), on("shown", () => this.show()), on("about", () => this.tell())];
  }

  button(text, does, label, kind = "") {
    const made = make("button", { type: "button", class: kind || undefined, "aria-label": label }, text);
    made.addEventListener("click", does);
    return made;
  }

  // What stays while jobs come and go: the place, the filter, the headings, the regions that speak.
  frame() {
    const labelled = (id, text, entry, ...more) => make("div", {}, make("label", { for: id }, text), entry, ...more);
    const field = (name, more = {}) => make("input", { type: "text", id: `${this.id}-${name}`, autocomplete: "off", spellcheck: "false", ...more });
    this.title = make("h3", { id: `${this.id}-title` });
    this.place = field("place", { "aria-describedby": `${this.id}-fault` });
    this.place.value = this.model.get("place");
    this.fault = make("p", { class: "message", id: `${this.id}-fault`, role: "status" });
    const open = () => { this.typed = {}; this.ask({ place: this.place.value }); };
    this.place.addEventListener("keydown", (event) => event.key === "Enter" && open());
    this.words = field("words");
    this.words.addEventListener("input", () => this.list());
    this.count = make("span", { class: "small", role: "status" });
    this.body = make("tbody");
    this.more = make("p");
    const heads = make("tr", {}, make("th", { scope: "col" }, "Input"), make("th", { scope: "col" }, "Value"));
    this.working = make("p", { class: "working", role: "status" });
    this.alert = make("p", { class: "alert", role: "alert" });
    this.status = make("p", { class: "status", role: "status" });
    this.counted = make("p", { class: "answer", role: "status" });
    this.stand = make("p", { class: "small" });
    this.changes = make("div");
    this.about = make("div", { "aria-live": "polite" });
    this.outcome = make("div");
    this.look = field("look", { list: `${this.id}-checks` });
    this.checks = make("datalist", { id: `${this.id}-checks` });
    const asking = (what) => () => this.look.value.trim() && this.ask({ what, of: this.look.value.trim() });
    this.root.replaceChildren(this.title,
      make("div", { class: "place" }, labelled(this.place.id, "Job folder or filed document (PDF)", this.place, this.fault), this.button("Open", open)),
      make("div", { class: "columns" },
        make("div", { class: "scrolled", role: "region", tabindex: 0, "aria-label": "Inputs" },
          make("div", { class: "tools" }, labelled(this.words.id, "Find inputs, by words of their key or meaning", this.words)), this.count,
          make("table", { class: "inputs" }, make("thead", {}, heads), this.body), this.more),
        make("div", { class: "scrolled", role: "region", tabindex: 0, "aria-label": "Review" },
          this.working, this.alert, this.status, this.counted, this.stand, this.changes,
          make("div", { class: "tools" }, labelled(this.look.id, "A check or a result, by words of its name", this.look), this.checks,
            this.button("Why", asking("why")), this.button("What would turn it", asking("turns"))),
          this.about, this.outcome)));
  }

  build() {
    const declared = this.model.get("declared");
    this.typed = { ...this.model.get("typed") };
    this.title.textContent = declared.title;
    this.place.value = this.model.get("place");
    this.checks.replaceChildren(...declared.checks.map((one) => make("option", { value: one })));
    this.rows = new Map(declared.inputs.map(([key, meaning, hint, choices, filed], at) => [key, { key, meaning, hint, choices, filed, at }]));
    this.whole = false;
    this.list();
  }

  list() {
    const words = this.words.value.toLowerCase().split(/\s+/).filter(Boolean);
    const found = [...this.rows.values()].filter((one) => words.every((word) => `${one.key} ${one.meaning}`.toLowerCase().includes(word)));
    const shown = this.whole ? found : found.slice(0, ROWS);
    this.body.replaceChildren(...shown.map((one) => this.row(one)));
    this.count.textContent = `${found.length} of ${this.rows.size} inputs`;
    this.more.replaceChildren(...(shown.length < found.length
      ? [this.button(`Show all ${found.length} inputs`, () => { this.whole = true; this.list(); this.root.querySelectorAll("td input, td select")[ROWS]?.focus(); })] : []));
  }

  row(one) {
    if (one.element) return one.element;
    const id = `${this.id}-${one.at}`;
    one.entry = one.choices.length
      ? make("select", { id }, ...one.choices.map((text) => make("option", { value: text }, text)))
      : make("input", { id, type: "text", autocomplete: "off", spellcheck: "false" });
    set(one.entry, "aria-describedby", `${id}-about ${id}-message`);
    one.entry.value = this.typed[one.key] ?? one.filed;
    one.entry.addEventListener("input", () => this.type(one, one.entry.value));
    one.entry.addEventListener("keydown", (event) => event.key === "Enter" && this.send());
    one.message = make("p", { class: "message", id: `${id}-message`, role: "status" });
    const label = make("label", { for: id }, make("span", { class: "key" }, one.key), one.meaning ? `: ${one.meaning}` : "");
    const said = [`as filed ${one.filed}`, one.choices.length ? "" : one.hint].filter(Boolean).join("; ");
    one.element = make("tr", {}, make("th", { scope: "row" }, label, make("p", { class: "small", id: `${id}-about` }, said)),
      make("td", {}, one.entry, one.message, this.button("What it moves", () => this.ask({ what: "affects", of: one.key }), `What ${one.key} moves`)));
    this.mark(one);
    return one.element;
  }

  mark(one) {
    one.element?.classList.toggle("changed", one.key in this.typed);
  }

  type(one, text) {
    if (text.trim() && text.trim() !== one.filed) this.typed[one.key] = text.trim();
    else delete this.typed[one.key];
    this.mark(one);
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.send(), one.choices.length ? 0 : REST);
  }

  takeBack(keys) {
    for (const key of keys) {
      delete this.typed[key];
      const one = this.rows.get(key);
      if (one?.entry) one.entry.value = one.filed;
      if (one) this.mark(one);
    }
    this.ask({});
    this.words.focus();
  }

  send() {
    clearTimeout(this.resting);
    if (JSON.stringify(this.typed) !== JSON.stringify(this.model.get("typed"))) this.ask({});
  }

  // One asking is under way at a time; the last one that is made meanwhile follows it.
  ask(wanted) {
    clearTimeout(this.resting);
    if (this.awaiting) {
      this.next = wanted;
      return;
    }
    this.next = undefined;
    // A question is of the values as they stand in the fields: where those were not reviewed yet, that comes first.
    if (wanted.what && JSON.stringify(this.typed) !== JSON.stringify(this.model.get("typed"))) {
      this.ask({});
      this.next = wanted;
      return;
    }
    this.awaiting = this.model.get("asked") + 1;
    this.root.setAttribute("aria-busy", "true");
    this.working.textContent = wanted.what === "turns" ? "Working; this takes up to a minute or two" : "Working";
    const began = Date.now();
    this.timer = setInterval(() => {
      if (!wanted.what && Date.now() - began > PATIENCE * 1000) {
        this.alert.textContent = "No answer yet: the kernel is busy, has stopped, or was not started. What stands here is of the last answer; what was typed stays in the fields.";
      }
    }, 1000);
    this.model.set("typed", { ...this.typed });
    if (wanted.place !== undefined) this.model.set("place", wanted.place);
    if (wanted.what) this.model.set("question", { what: wanted.what, of: wanted.of ?? "", asked: this.awaiting });
    this.model.set("asked", this.awaiting);
    this.model.save_changes();
  }

  show() {
    const shown = this.model.get("shown");
    if (shown.asked >= (this.awaiting ?? 0)) {
      clearInterval(this.timer);
      this.awaiting = 0;
      this.root.removeAttribute("aria-busy");
      this.working.textContent = this.alert.textContent = "";
    }
    this.fault.textContent = shown.place ?? "";
    set(this.place, "aria-invalid", shown.place ? "true" : null);
    this.status.textContent = [...(shown.old ? ["The review below is of the last values that could be computed."] : []), shown.status].filter(Boolean).join("\n");
    this.outcome.classList.toggle("stale", shown.old);
    this.counted.textContent = shown.counted;
    this.stand.textContent = shown.stand;
    for (const one of this.rows.values()) {
      if (!one.entry) continue;
      const said = shown.faults[one.key] ?? "";
      if (one.message.textContent !== said) one.message.textContent = said;
      set(one.entry, "aria-invalid", said ? "true" : null);
    }
    this.showChanges(shown.faults);
    const told = JSON.stringify([shown.flipped, shown.left, shown.moved]);
    if (told !== this.told) this.showOutcome(shown);
    this.told = told;
    this.root.dataset.answered = shown.asked;
    this.root.dataset.seconds = shown.seconds ?? "";
    if (this.next && !this.awaiting) this.ask(this.next);
  }

  showChanges(faults) {
    const keys = Object.keys(this.model.get("typed"));
    const said = JSON.stringify([keys.map((key) => [key, this.model.get("typed")[key]]), faults]);
    if (said === this.saidChanges) return;
    this.saidChanges = said;
    if (!keys.length) return this.changes.replaceChildren();
    const rows = keys.map((key) => [this.headed(key, "key"), this.rows.get(key)?.filed ?? "",
      faults[key] ? make("span", { class: "message" }, `${this.typed[key]}: ${faults[key]}`) : this.model.get("typed")[key],
      this.button("Take back", () => this.takeBack([key]), `Take back ${key}`)]);
    const write = this.model.get("declared").writes
      ? this.button("Show what would be written to the job folder", () => this.ask({ what: "difference" }))
      : make("p", { class: "small" }, "A filed document is not changed. To write these values into a job, take the job out of it first: deckcalc unpack.");
    this.changes.replaceChildren(this.table("Inputs changed", ["input", "as filed", "now", ""], rows),
      make("div", { class: "actions" }, this.button("Take all back", () => this.takeBack(keys)), write));
  }

  headed(text, kind) {
    return make("th", { scope: "row", class: kind || undefined }, text);
  }

  table(caption, heads, rows) {
    const cell = (one) => (one instanceof Element && one.tagName === "TH" ? one : make("td", {}, one));
    const table = make("table", {}, ...(caption ? [make("caption", {}, caption)] : []),
      make("thead", {}, make("tr", {}, ...heads.map((one) => (one ? make("th", { scope: "col" }, one) : make("td"))))),
      make("tbody", {}, ...rows.map((row) => make("tr", {}, ...row.map(cell)))));
    return make("div", { class: "wide" }, table);
  }

  showOutcome(shown) {
    const of = (...sorts) => shown.flipped.filter(([sort]) => sorts.includes(sort));
    const parts = [make("h4", {}, "Verdicts that flipped")];
    const verdicts = ["worse", "better", "check"].flatMap((sort) => of(sort));
    parts.push(verdicts.length ? this.table("", ["check", "as filed", "now", ""], verdicts.map(([sort, where, old, now]) => [
      this.headed(where), old, make("span", { class: sort }, make("span", { "aria-hidden": "true" }, SIGNS[sort]), now),
      make("div", { class: "actions" }, this.button("Why", () => this.ask({ what: "why", of: where }), `Why: ${where}`),
        this.button("What would turn it", () => this.ask({ what: "turns", of: where }), `What would turn ${where}`))])) : make("p", {}, "none"));
    for (const [sort, title] of [["open", "Open items that came or went"], ["other", "Instructions and decisions that read otherwise"]]) {
      const rows = of(sort).map(([, where, old, now]) => [this.headed(where), old, now]);
      if (rows.length) parts.push(...this.cut(title, ["what", "as filed", "now"], rows));
    }
    if (shown.left.length) {
      parts.push(make("h4", {}, "Inputs left out, taken otherwise or to be looked at"), this.table("", ["input", "as filed", "now"],
        shown.left.map(([where, old, now]) => [this.headed(where, "key"), old, now])));
    }
    parts.push(make("h4", {}, "Results that moved"));
    if (!shown.moved.length) parts.push(make("p", {}, "none"));
    for (const [sheet, moved] of shown.moved) {
      const rows = moved.map(([what, old, now, percent, whole]) => [this.headed(what), old, now, percent,
        this.button("Why", () => this.ask({ what: "why", of: whole }), `Why: ${what}`)]);
      parts.push(...this.cut(`${sheet}: ${moved.length} ${moved.length === 1 ? "result" : "results"}`, ["result", "as filed", "now", "change", ""], rows));
    }
    this.outcome.replaceChildren(...parts);
  }

  // A long table is cut off after some rows; what was opened stays open.
  cut(title, heads, rows) {
    const key = title.split(":")[0], shown = this.all.has(key) ? rows : rows.slice(0, MOVED);
    const table = this.table(title, heads, shown);
    if (shown.length === rows.length) return [table];
    const more = this.button(`Show all ${rows.length}`, () => {
      this.all.add(key);
      const whole = this.table(title, heads, rows);
      table.replaceWith(whole);
      more.remove();
      whole.querySelectorAll("tbody tr")[MOVED]?.querySelector("button")?.focus();
    }, `Show all ${rows.length}: ${key}`);
    return [table, more];
  }

  tell() {
    const about = this.model.get("about");
    if (!about.title) return this.about.replaceChildren();
    const head = make("h4", { tabindex: -1 }, about.title);
    const parts = [head];
    if (about.fault) parts.push(make("p", { class: "status" }, about.fault));
    if (about.text) parts.push(make("p", {}, about.text));
    if (about.chain) parts.push(this.chain(about.chain));
    for (const [caption, heads, rows] of about.tables ?? []) {
      parts.push(...(rows.length ? this.cut(caption, heads, rows.map(([first, ...rest]) => [this.headed(first), ...rest])) : [make("p", {}, `${caption}: none`)]));
    }
    if (about.difference) {
      parts.push(make("pre", {}, ...about.difference.split("\n").map((line) => {
        const kind = /^(---|\+\+\+|@@)/.test(line) ? "span" : line[0] === "+" ? "ins" : line[0] === "-" ? "del" : "span";
        return make(kind, {}, `${line}\n`);
      })));
    }
    const actions = make("div", { class: "actions" });
    if (about.write) actions.append(this.button("Write these values to the job folder", () => this.ask({ what: "write" }), undefined, "deliberate"));
    actions.append(this.button("Close", () => { this.about.replaceChildren(); this.words.focus(); }));
    this.about.replaceChildren(make("div", { class: "about" }, ...parts, actions));
    head.focus({ preventScroll: true });
    head.scrollIntoView({ block: "nearest" });
  }

  chain(steps) {
    const root = make("ul", { class: "chain" }), lists = [root];
    for (const [depth, text, origin, key] of steps) {
      const item = make("li", {}, text, origin ? make("span", { class: "small" }, ` ← ${origin} `) : "");
      if (key && this.rows.has(key)) item.append(this.button("Change it", () => this.find(key), `Change ${key}`));
      lists.length = depth + 1;
      if (!lists[depth]) lists[depth] = lists[depth - 1].lastElementChild.appendChild(make("ul"));
      lists[depth].append(item);
    }
    return root;
  }

  find(key) {
    this.words.value = key;
    this.list();
    this.rows.get(key).entry.focus();
  }

  leave() {
    clearInterval(this.timer);
    clearTimeout(this.resting);
    for (const off of this.off) off();
  }
}

export default {
  render({ model, el }) {
    const page = new Page(model, el);
    return () => page.leave();
  },
};
