// The page of live calculations in a browser: builds fields from what is declared, sends what is typed, shows the answer.
const PATIENCE = 5000; // milliseconds without an answer until the page says so
const PAUSE = 700; // milliseconds of rest until a message stands beside a field that is being typed in
const NO_ANSWER =
  "No answer from the calculation: its kernel is busy, has stopped, or was not started. What stands here is of the last answer. " +
  "What was typed stays in the fields; run the cell again, with these values in it, to go on.";
let pages = 0;

class Field {
  constructor(page, part, declared, id) {
    this.page = page;
    this.key = `${part}.${declared.name}`;
    this.declared = declared;
    const label = make("label", { for: id }, declared.label);
    if (declared.symbol) label.append(" ", make("span", { class: "symbol", html: declared.symbol }));
    this.hint = make("span", { class: "hint", id: `${id}-hint` }, declared.hint);
    this.message = make("p", { class: "message", id: `${id}-message`, role: "status" });
    if (declared.handed) {
      this.entry = make("output", { id, class: "handed" });
    } else if (declared.choices.length) {
      this.entry = make("select", { id }, ...declared.choices.map((one) => make("option", { value: one }, one)));
    } else {
      this.entry = make("input", { id, type: "text", autocomplete: "off", spellcheck: "false" });
    }
    const row = make("div", { class: "entry" }, this.entry);
    if (!declared.handed) {
      set(this.entry, "aria-describedby", `${id}-hint ${id}-message`);
      this.entry.addEventListener("input", () => this.typed());
      this.entry.addEventListener("blur", () => this.say());
      if (!declared.choices.length) {
        this.slider = make("input", { type: "range", id: `${id}-slider`, min: 0, step: 1, "aria-label": `${declared.label}, slider` });
        this.slider.addEventListener("input", () => {
          this.entry.value = this.stops[this.slider.valueAsNumber];
          set(this.slider, "aria-valuetext", this.entry.value);
          this.typed();
        });
        row.append(this.slider);
      }
    }
    this.element = make("div", { class: "field" }, make("div", { class: "head" }, label, this.hint), row, this.message);
    this.said = "";
  }

  typed() {
    this.last = performance.now();
    this.page.ask();
  }

  // A message waits while somebody is still typing; one that no longer holds goes at once.
  say() {
    clearTimeout(this.waiting);
    const resting = performance.now() - (this.last ?? -PAUSE) >= PAUSE || document.activeElement !== this.entry;
    if (this.said && !resting && !this.message.textContent) {
      this.waiting = setTimeout(() => this.say(), PAUSE);
      return;
    }
    const text = this.said && this.said[0].toUpperCase() + this.said.slice(1);
    if (this.message.textContent !== text) this.message.textContent = text;
    if (!this.declared.handed) set(this.entry, "aria-invalid", this.said ? "true" : null);
  }

  show(answer, settled) {
    if (this.declared.handed) {
      if (this.entry.textContent !== answer.text) this.entry.textContent = answer.text;
      return;
    }
    if (settled && this.entry.value !== answer.text) this.entry.value = answer.text;
    this.said = answer.message;
    this.say();
    if (!this.slider) return;
    this.stops = answer.stops;
    this.slider.hidden = answer.stops.length === 0;
    if (this.slider.hidden) return;
    const dragged = document.activeElement === this.slider && !settled;
    set(this.slider, "max", String(answer.stops.length - 1));
    if (!dragged && answer.at >= 0) {
      this.slider.value = answer.at;
      set(this.slider, "aria-valuetext", this.entry.value);
    }
  }
}

class Part {
  constructor(page, declared, id) {
    this.fields = declared.fields.map((one, at) => new Field(page, declared.name, one, `${id}-${at}`));
    this.picture = make("div", { class: "picture" });
    this.status = make("p", { class: "status", role: "status" });
    this.result = make("div", { class: "result", role: "status" });
    this.lines = make("ol", { class: "lines" });
    this.remarks = make("p", { class: "remarks" });
    this.sheet = make("div", { class: "sheet", role: "region", tabindex: 0, "aria-label": `By hand: ${declared.title}` },
      this.lines, this.remarks);
    this.element = make("section", { class: "part", "aria-labelledby": id },
      make("h3", { id }, declared.title),
      make("div", { class: "left" }, this.picture,
        make("div", { class: "fields", role: "group", "aria-label": `Values: ${declared.title}` }, ...this.fields.map((one) => one.element))),
      make("div", { class: "right" }, this.status, this.result, this.sheet));
    this.name = declared.name;
  }

  show(answer, settled) {
    for (const field of this.fields) field.show(answer.fields[field.declared.name], settled);
    this.element.classList.toggle("old", answer.old);
    if (this.status.textContent !== answer.status) this.status.textContent = answer.status;
    if (!answer.lines) return;
    this.showResult(answer);
    if (this.drawn !== answer.picture) this.picture.innerHTML = this.drawn = answer.picture;
    this.picture.hidden = !answer.picture;
    if (this.remarks.innerHTML !== answer.remarks) this.remarks.innerHTML = answer.remarks;
    this.showLines(answer.lines);
  }

  showResult(answer) {
    const said = JSON.stringify([answer.result, answer.verdicts]);
    if (this.told === said) return;
    this.told = said;
    this.result.replaceChildren(...answer.result.map((one) => make("p", { class: "answer" }, one)), ...answer.verdicts.map((one) =>
      make("p", { class: one.good ? "verdict good" : "verdict bad" }, make("span", { "aria-hidden": "true" }, one.good ? "✓ " : "✗ "), one.text)));
  }

  // Only lines that moved are set again; the first of them comes into sight.
  showLines(lines) {
    const first = !this.before;
    const same = this.before?.length === lines.length;
    if (!same) this.lines.replaceChildren(...lines.map((one) => make("li", { html: one })));
    const moved = [];
    if (same) {
      lines.forEach((one, at) => {
        if (one === this.before[at]) return this.lines.children[at].classList.remove("moved");
        this.lines.children[at].innerHTML = one;
        moved.push(this.lines.children[at]);
      });
    }
    this.before = lines;
    const box = this.sheet.getBoundingClientRect();
    for (const line of moved) line.classList.remove("moved");
    void this.lines.offsetWidth; // lets the marks begin anew, all at once
    for (const line of moved) line.classList.add("moved");
    const seen = moved.some((line) => {
      const at = line.getBoundingClientRect();
      return at.bottom > box.top + 20 && at.top < box.bottom - 20;
    });
    if (moved.length && !seen) this.sheet.scrollTop += moved[0].getBoundingClientRect().top - box.top - 8;
    if (first || moved.length || !same) this.reachable();
  }

  // A formula wider than its column can be moved by keyboard too.
  reachable() {
    const wide = [...this.lines.children].map((line) => line.scrollWidth > line.clientWidth + 1);
    wide.forEach((one, at) => set(this.lines.children[at], "tabindex", one ? "0" : null));
  }
}

class Page {
  constructor(model, el) {
    this.model = model;
    this.el = el;
    this.id = `deckcalc-${++pages}-${Math.random().toString(36).slice(2, 8)}`;
    this.root = make("div", { class: "deckcalc", lang: "en" });
    this.build();
    el.append(this.root);
    this.show();
    model.on("change:declared", this.rebuilt = () => this.rebuild());
    model.on("change:shown", this.answered = () => this.show());
    this.watcher = new ResizeObserver(() => this.parts.forEach((part) => part.reachable()));
    this.watcher.observe(this.root);
  }

  build() {
    const held = this.root.contains(document.activeElement) ? document.activeElement.id : "";
    const systems = [["SI", "SI"], ["US", "US customary"]].map(([value, words]) => {
      const radio = make("input", { type: "radio", name: this.id, id: `${this.id}-${value}`, value });
      radio.checked = this.model.get("system") === value;
      radio.addEventListener("change", () => this.ask(value));
      return make("label", { for: radio.id }, radio, ` ${words}`);
    });
    this.parts = this.model.get("declared").map((one, at) => new Part(this, one, `${this.id}-p${at}`));
    this.alert = make("p", { class: "alert", role: "alert" });
    this.root.replaceChildren(
      make("fieldset", { class: "systems" }, make("legend", {}, "Units"), ...systems), this.alert, ...this.parts.map((one) => one.element));
    const typed = this.model.get("typed");
    for (const field of this.entries()) field.entry.value = typed[field.key] ?? "";
    if (held) document.getElementById(held)?.focus();
  }

  // What is declared and what is shown arrive in either order; what was typed after the asking stays as it was typed.
  rebuild() {
    const late = {};
    for (const field of this.entries()) if (this.more && field.entry.value !== this.sent[field.key]) late[field.key] = field.entry.value;
    this.build();
    for (const field of this.entries()) if (field.key in late) field.entry.value = late[field.key];
    this.show();
  }

  entries() {
    return this.parts.flatMap((part) => part.fields).filter((field) => !field.declared.handed);
  }

  // One asking is under way at a time; what is typed meanwhile is asked when its answer comes.
  ask(system) {
    if (system) this.wanted = system;
    if (this.awaiting) {
      this.more = true;
      return;
    }
    this.more = false;
    const typed = { ...this.model.get("typed") };
    for (const field of this.entries()) typed[field.key] = field.entry.value;
    this.sent = typed;
    this.awaiting = this.model.get("asked") + 1;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.unanswered(), PATIENCE);
    try {
      this.model.set("typed", typed);
      if (this.wanted) this.model.set("system", this.wanted);
      this.model.set("asked", this.awaiting);
      this.model.save_changes();
    } catch {
      this.unanswered();
    }
    this.wanted = undefined;
  }

  unanswered() {
    this.awaiting = 0;
    this.alert.textContent = NO_ANSWER;
    this.root.classList.add("unanswered");
  }

  show() {
    const shown = this.model.get("shown");
    if (!shown.parts) return;
    if (shown.asked >= this.model.get("asked")) {
      clearTimeout(this.timer);
      this.awaiting = 0;
      if (this.alert.textContent) this.alert.textContent = "";
      this.root.classList.remove("unanswered");
    }
    const settled = !this.awaiting && !this.more;
    this.parts.forEach((part, at) => shown.parts[at] && part.show(shown.parts[at], settled));
    this.root.dataset.answered = shown.asked;
    if (this.more && !this.awaiting) this.ask();
  }

  leave() {
    clearTimeout(this.timer);
    this.watcher.disconnect();
    this.model.off("change:declared", this.rebuilt);
    this.model.off("change:shown", this.answered);
  }
}

export default {
  render({ model, el }) {
    const page = new Page(model, el);
    return () => page.leave();
  },
};
