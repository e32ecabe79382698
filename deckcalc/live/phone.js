// The page of a night: fields, results, hold points; entries are kept on the phone and given out as a file for the record.
const phone = (data) => {
  const here = (id) => document.getElementById(id), { system } = data, US = system === "US";
  const el = (tag, given = {}, ...inside) => {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) if (name === "text") made.textContent = value;
      else if (value !== null && value !== undefined) made.setAttribute(name, value);
    made.append(...inside.filter((one) => one !== null));
    return made;
  };
  const svg = (tag, given = {}, text) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(given)) made.setAttribute(name, value);
    if (text !== undefined) made.textContent = text;
    return made;
  };
  const NOISE = 1e-6, FOLDER = "deckcalc field ", own = `${FOLDER}${data.package} ${data.closure} ${data.inputs}`;

  // ---- in print, on the safe side
  const eighths = (number) => {
    const whole = Math.floor(number / 8), rest = number % 8, part = rest % 4 === 0 ? [rest / 4, 2] : rest % 2 === 0 ? [rest / 2, 4] : [rest, 8];
    return `${whole || !rest ? whole : ""}${whole && rest ? " " : ""}${rest ? part.join("/") : ""} in`;
  };
  const length = (metres, side) => (US ? eighths(side((metres / 0.0254) * 8)) : `${side(metres * 1000)} mm`);
  const up = (x) => Math.ceil(x - NOISE), down = (x) => Math.floor(x + NOISE);
  const volume = (cubic) => `${digits.fixed(up((US ? cubic / 0.764554857984 : cubic) * 1000) / 1000, 3)} ${US ? "yd³" : "m³"}`;
  const share = (part) => `${digits.fixed(100 * part, 1)} %`;
  const hour = (text) => {
    const moment = new Date(rules.minutes(text) * 60000), [h, m] = [moment.getUTCHours(), String(moment.getUTCMinutes()).padStart(2, "0")];
    const day = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"][moment.getUTCDay()];
    if (data.clock === "24 h") return `${day} ${String(h).padStart(2, "0")}:${m}`;
    if (h % 12 === 0 && m === "00") return `${day} 12 ${h ? "noon" : "midnight"}`;
    return `${day} ${h % 12 || 12}:${m} ${h < 12 ? "a.m." : "p.m."}`;
  };

  // ---- what is kept
  let kept = {}, keeps = true;
  const storage = (work) => {
    try {
      return work(window.localStorage);
    } catch {
      keeps = false;
      return null;
    }
  };
  const load = () => {
    const text = storage((store) => store.getItem(own));
    try {
      kept = JSON.parse(text ?? "{}").entries ?? {};
    } catch {
      say("What was kept on this phone cannot be read: it is left out.");
    }
  };
  const file = () => {
    const works = data.patches.map((one) => [one, rules.work(data, one, kept[one.name] ?? {})]);
    const now = new Date(), local = new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 16).replace("T", " ");
    return {
      left: works.flatMap(([one, { left }]) => left.map((what) => `${one.name}: ${what}`)),
      contents: {
        package: data.package, revision: String(data.revision), closure: data.closure, saved: local,
        entries: works.flatMap(([, { rows }]) => rows), holds: works.flatMap(([, { holds }]) => holds),
      },
    };
  };
  const keep = () => storage((store) => store.setItem(own, JSON.stringify({ package: data.package, revision: data.revision, closure: data.closure, inputs: data.inputs, entries: kept, file: file().contents })));
  const others = () => {
    const there = storage((store) => Array.from({ length: store.length }, (_, at) => store.key(at)).filter((key) => key.startsWith(`${FOLDER}${data.package} ${data.closure} `) && key !== own)) ?? [];
    here("others").replaceChildren(...there.map((key) => {
      const one = JSON.parse(storage((store) => store.getItem(key)) ?? "{}"), mark = String(one.inputs).slice(0, 16);
      const give = el("button", { type: "button", text: `Give out those of revision ${one.revision}` });
      give.addEventListener("click", () => save(one.file, `-revision-${one.revision}-${mark.slice(0, 6)}`));
      return el("div", { class: "note" }, el("p", { text: `This phone holds entries of other inputs of this night: revision ${one.revision}, ${mark}. They are kept apart and not shown here.` }), give);
    }));
  };
  const save = (contents, more = "") => {
    const link = el("a", { href: URL.createObjectURL(new Blob([JSON.stringify(contents, null, 1)], { type: "application/json" })), download: `${data.package}-${data.closure}${more}.json`.replace(/[^A-Za-z0-9._-]+/g, "-") });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  };
  const say = (text) => here("said").append(el("p", { class: "note", text }));

  // ---- fields
  let patch = null;
  const mine = () => (kept[patch.name] ??= {});
  const set = (id, value) => {
    if (value) mine()[id] = value;
    else delete mine()[id];
    keep();
    refresh();
  };
  const bound = (input, id, name = "value") => {
    input[name] = mine()[id] ?? (name === "value" ? "" : false);
    input.addEventListener(name === "value" ? "input" : "change", () => set(id, input[name]));
    return input;
  };
  const about = (id) => ({ id: `f-${id}`, "aria-describedby": `e-${id}`, "aria-invalid": "false", autocomplete: "off" });
  const shell = (id, label, ...inside) => el("div", { class: "field" }, el("label", { for: `f-${id}`, text: label }), el("div", { class: "entry" }, ...inside), el("p", { class: "error", id: `e-${id}` }));
  const number = (id, label, unit, parts = false) => {
    const input = bound(el("input", { type: "text", inputmode: "decimal", enterkeyhint: "next", ...about(id) }), id);
    if (!parts) return shell(id, label, input, el("span", { class: "unit", text: unit }));
    const part = el("select", { "aria-label": `${label}, eighths of an inch` }, ...[0, 1, 2, 3, 4, 5, 6, 7].map((one) => el("option", { value: one || "", text: one ? `${one}/8` : "0/8" })));
    return shell(id, label, input, bound(part, `${id}.e`), el("span", { class: "unit", text: unit }));
  };
  const moment = (id, label) => {
    const input = bound(el("input", { type: "datetime-local", ...about(id) }), id), now = el("button", { type: "button", text: "Now", "aria-label": `${label}: now` });
    now.addEventListener("click", () => {
      const there = new Date();
      input.value = new Date(there - there.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
      set(id, input.value);
    });
    return shell(id, label, input, now);
  };
  const name = (id, label) => shell(id, label, bound(el("input", { type: "text", ...about(id) }), id));
  const section = (id, title, ...inside) => el("section", { "aria-labelledby": id }, el("h2", { id, text: title }), ...inside);
  const result = (id) => el("div", { class: "result", id, "aria-live": "polite" });
  const facts = (rows) => el("dl", {}, ...rows.flatMap(([what, value]) => [el("dt", { text: what }), el("dd", { text: value })]));
  const small = US ? "in" : "mm", degrees = US ? "°F" : "°C";

  const drawing = (one) => {
    const wide = 300, k = Math.min(wide / one.wide, 220 / one.tall), at = ([x, y]) => [45 + x * k, 34 + y * k];
    const letters = one.corners.map(([letter]) => letter), tall = one.tall * k;
    const title = `Patch ${patch.name} in plan: sides ${one.sides.join(" and ")}`;
    const drawn = svg("svg", { viewBox: `0 0 ${one.wide * k + 110} ${tall + 74}`, role: "img", "aria-label": title });
    drawn.append(svg("polygon", { points: one.outline.map((place) => at(place).join()).join(" "), class: "cut" }));
    for (const [x, y, label, along] of one.bars) {
      const [u, v] = at([x, y]);
      drawn.append(svg("line", along ? { x1: 45, x2: 45 + one.wide * k, y1: v, y2: v, class: "bar" } : { x1: u, x2: u, y1: 34, y2: 34 + tall, class: "bar" }));
      drawn.append(svg("title", {}, label));
    }
    for (const [x, y] of one.depths) {
      const [u, v] = at([x, y]);
      drawn.append(svg("path", { d: `M${u - 5} ${v}h10M${u} ${v - 5}v10`, class: "cross" }));
    }
    one.outline.forEach((place, i) => {
      const [u, v] = at(place), low = place[1] > one.tall / 2, late = place[0] > one.wide / 2;
      drawn.append(svg("text", { x: u + (late ? 8 : -8), y: v + (low ? 14 : -4), "text-anchor": late ? "start" : "end" }, letters[i]));
    });
    drawn.append(svg("text", { x: 45 + (one.wide * k) / 2, y: tall + 58, "text-anchor": "middle" }, one.sides[0]));
    drawn.append(svg("text", { x: 52 + one.wide * k, y: 38 + tall / 2, "text-anchor": "start" }, one.sides[1]));
    drawn.append(svg("text", { x: 45 + (one.wide * k) / 2, y: 22, "text-anchor": "middle" }, "stations ahead →"));
    const rows = one.corners.map(([letter, along, across]) => el("tr", {}, el("th", { scope: "row", text: letter }), el("td", { text: along }), el("td", { text: across })));
    const head = el("tr", {}, ...["corner", `joint ${one.joint}`, one.kerb].map((text) => el("th", { scope: "col", text })));
    const across = one.diagonals.length ? el("p", { text: `Along from joint ${one.joint}, across from the ${one.kerb}. Diagonals a–c ${one.diagonals[0]}, b–d ${one.diagonals[1]}.${US ? "" : " Lengths in millimetres."}` }) : null;
    return [drawn, el("table", {}, el("thead", {}, head), el("tbody", {}, ...rows)), across];
  };
  const barred = (one) => {
    const fields = Array.from({ length: data.reads }, (_, at) => number(`b.${one.name}.${at}`, `Diameter ${at + 1}`, small));
    const more = el("details", { id: `open-${one.name}` }, el("summary", {}, el("span", { text: `${one.name}: ${one.size}, ${one.layer}` }), el("strong", { id: `v-${one.name}` })), ...fields, number(`b.${one.name}.l`, "Length of the loss", small, US), result(`r-${one.name}`));
    more.open = Object.keys(mine()).some((id) => id.startsWith(`b.${one.name}.`));
    return more;
  };
  const held = () => {
    const groups = new Map();
    patch.holds.forEach((one, at) => {
      const key = `${one.when}.${one.who}`;
      groups.set(key, [...(groups.get(key) ?? []), [one, at]]);
    });
    return [...groups].map(([key, ones]) => el("fieldset", {}, el("legend", { text: `${ones[0][0].when}: ${ones[0][0].who}` }), ...ones.map(([one, at]) => {
      const box = bound(el("input", { type: "checkbox", id: `f-h.${at}` }), `h.${at}`, "checked");
      return el("label", { class: "tick", for: `f-h.${at}` }, box, el("span", { text: `${one.what}: ${one.rule}` }));
    }), name(`n.${key}`, "Name")));
  };

  // ---- one patch
  const batch = (at) => [moment(`k${at}.time`, `Batch ${at + 1} in place`), number(`k${at}.bags`, `Bags in batch ${at + 1}`, "")];
  let shown = 0;
  const add = () => here("batches").append(...batch(shown++));
  const show = (one) => {
    patch = one;
    for (const button of here("patches").children) button.setAttribute("aria-pressed", String(button.textContent === one.name));
    const more = el("button", { type: "button", text: "One more batch" }), placing = data.placings[one.placing], known = Object.keys(mine());
    more.addEventListener("click", add);
    here("patch").replaceChildren(
      section("plan", `Patch ${one.name} as planned`, one.stops ? el("p", { class: "note", text: `Open, and not before the engineer has decided: ${one.stops}` }) : "", facts(one.planned), ...drawing(one.sketch)),
      section("found", "Depths and cover as found", el("p", { text: "Read five places and the deepest, from the same surface as before; cover where it is least and most." }),
        el("div", { class: US ? "" : "grid" }, ...Array.from({ length: rules.MOST.depth }, (_, at) => number(`d${at}`, `Depth ${at + 1}`, small, US))),
        el("div", { class: US ? "" : "grid" }, ...Array.from({ length: rules.MOST.cover }, (_, at) => number(`c${at}`, `Cover ${at + 1}`, small, US))),
        moment("f.time", "Measured at"), name("who", "Measured by"), result("r-hole")),
      section("bars", "Bars by caliper", one.bars.length ? el("p", { text: "On clean steel, without ribs, each bar where it is thinnest, in the order in which the bars lie." }) : el("p", { text: "No bar of this patch is reached by the plan. A bar seen: stop, call." }), ...one.bars.map(barred)),
      section("placing", "Placing", el("p", { text: `Planned: ${placing.words}` }), number("air", "Air", degrees), number("slab", "Hole and bars", degrees), number("warm", "Fresh concrete", degrees), moment("begin", "Placing begins"),
        el("div", { id: "batches" }), more, result("r-placing")),
      section("holds", "Hold points", ...held()),
      section("rules", "Stop and call the engineer", el("ul", {}, ...one.rules.map((text) => el("li", { text })))),
    );
    shown = 0;
    const used = Math.max(-1, ...known.map((id) => Number(/^k(\d+)\./.exec(id)?.[1] ?? -1)));
    while (shown <= used || shown === 0) add();
    refresh();
  };

  const WORDS = { leave: "leave", add: "ADD A BAR", call: "CALL" };
  const refresh = () => {
    const made = rules.work(data, patch, mine()), { faults, calls, hole, clock } = made;
    for (const place of here("patch").querySelectorAll(".error")) {
      const id = place.id.slice(2), input = here(`f-${id}`);
      place.textContent = faults[id] ?? "";
      input.setAttribute("aria-invalid", String(id in faults));
    }
    const found = here("r-hole");
    if (hole) {
      const rows = [["class", hole.class], ["deepest, mean", `${length(hole.deepest, up)}, ${length(hole.mean, up)}`]];
      if (hole.out !== null) rows.push(["break out", hole.freed ? `${length(hole.to, up)} at least all over, deeper where read so; bars freed` : "as read; bars not reached"], ["saw no deeper than", hole.saw > 0 ? length(hole.saw, down) : "no saw clears the bars: chip the edge"]);
      else rows.push(["break out", "through the slab"]);
      if (hole.volume !== null) rows.push(["concrete to mix", `${volume(hole.volume)}${hole.concrete ? ` of ${hole.concrete}` : ""}`]);
      if (hole.batches) rows.push(["batches, bags", `${hole.batches}, ${hole.bags}`]);
      rows.push(["form below", patch.full ? "as drawn, before placing" : hole.full ? "needed, and none is drawn: call" : "none"]);
      found.replaceChildren(facts(rows));
    } else found.replaceChildren(el("p", { text: made.waits ? "No result until every depth and cover can be read and lies within the table." : "Enter the depths read." }));
    for (const one of patch.bars) {
      const mine = made.bars[one.name], place = here(`r-${one.name}`), word = here(`v-${one.name}`);
      word.textContent = mine ? WORDS[mine.verdict] : "";
      word.className = mine?.verdict ?? "";
      if (!mine) place.replaceChildren();
      else {
        const rows = [["loss of section", share(mine.loss)], ["do", mine.verdict === "leave" ? "leave it as it is" : mine.verdict === "call" ? "call the engineer" : `add 1 × ${mine.added} beside it, and tell the engineer before it is tied`]];
        if (mine.verdict === "add") rows.push(["cut to", mine.cut === undefined ? "enter the length of the loss" : length(mine.cut, up)], ["lap each end", length(mine.lap, up)]);
        place.replaceChildren(facts(rows));
      }
    }
    const rows = clock.go.map(([what, holds, wanted]) => [what, `${holds ? "go" : "NO-GO"}: ${what === "placing begins" ? `by ${hour(wanted)}` : wanted}`]);
    if (clock.by && !clock.go.some(([what]) => what === "placing begins")) rows.push(["placing begins by", hour(clock.by)]);
    if (clock.opens) rows.push([clock.late ? "strong by the planned opening, not before" : "strong from", `${hour(clock.opens)}; tests decide`]);
    else rows.push(["opening", clock.known ? "enter temperatures and the hour at which placing begins or ends" : "cylinders cured beside the patch, or its logged temperature"]);
    here("r-placing").replaceChildren(facts(rows));
    const bad = clock.go.filter(([, holds]) => !holds).map(([what]) => what), engineer = data.call[0];
    const call = engineer[2] ? el("a", { class: "tel", href: `tel:${engineer[2].replace(/[^\d+]/g, "")}`, text: `Call ${engineer[1] || engineer[0]} ${engineer[2]}` }) : el("p", { text: "No telephone of the engineer is in the job: it is on the printed sheet, or fill it in." });
    const wrong = Object.keys(faults).length, brief = here("brief");
    brief.hidden = !calls.length && !bad.length;
    brief.textContent = calls.length ? `${patch.name}: STOP, call the engineer (${calls.length})` : `${patch.name}: NO-GO (${bad.length})`;
    here("verdict").className = calls.length ? "stop" : bad.length ? "wait" : "";
    here("verdict").replaceChildren(
      ...(calls.length ? [el("h2", { text: `${patch.name}: stop, call the engineer` }), el("ul", {}, ...calls.map((text) => el("li", { text }))), call] : []),
      ...(bad.length ? [el("p", {}, el("strong", { text: `No-go: ${bad.join(", ")}.` }))] : []),
      ...(wrong ? [el("p", { text: wrong === 1 ? "One entry cannot be used; it is marked." : `${wrong} entries cannot be used; they are marked.` })] : []),
    );
  };

  // ---- the page
  load();
  for (const one of data.patches) {
    const button = el("button", { type: "button", text: one.name, "aria-pressed": "false" });
    button.addEventListener("click", () => (location.hash = one.name));
    here("patches").append(button);
  }
  const chosen = () => {
    const given = decodeURIComponent(location.hash.slice(1)), parts = Object.fromEntries(given.split(";").map((one) => one.split("=")));
    const wanted = parts.patch ?? given, one = data.patches.find((other) => other.name === wanted);
    here("said").replaceChildren();
    if (!keeps) say("This browser keeps nothing (a private window, or storage is switched off): entries are lost when the page closes. Give them out before.");
    if (parts.inputs && !data.inputs.startsWith(parts.inputs)) say("The sheet with this code is of another revision than this page: work by neither until the engineer says which holds.");
    if (wanted && !one) say(`This page has no patch ${wanted}; it is of ${data.patches.map((other) => other.name).join(", ")}.`);
    show(one ?? patch ?? data.patches[0]);
  };
  window.addEventListener("hashchange", chosen);
  here("brief").addEventListener("click", () => window.scrollTo(0, 0));
  here("call").replaceChildren(...data.call.map(([what, who, number]) => el("p", {}, el("span", { text: `${what}${who ? `, ${who}` : ""} ` }), number ? el("a", { class: "tel", href: `tel:${number.replace(/[^\d+]/g, "")}`, text: number }) : el("span", { text: what.startsWith("Nearest") ? "" : "(number on the printed sheet, or fill it in)" }))));
  here("give").addEventListener("click", () => {
    const { left, contents } = file();
    if (!contents.entries.length && !contents.holds.length) {
      here("given").textContent = "Nothing is entered that can be given out.";
      return;
    }
    save(contents);
    here("given").textContent = `Given out: ${contents.entries.length} rows for the record, ${contents.holds.length} hold points.${left.length ? ` Left out: ${left.join("; ")}.` : ""}`;
  });
  const ASK = ["Clear all entries of this night", "Really clear? Press again", "Last time: all is gone then. Press to clear"];
  let asked = 0;
  const ask = (count) => (here("clear").textContent = ASK[(asked = count)]);
  here("clear").addEventListener("click", () => {
    if (asked < 2) return ask(asked + 1);
    kept = {};
    storage((store) => store.removeItem(own));
    ask(0);
    here("given").textContent = "All entries of this night are cleared.";
    return show(patch);
  });
  here("clear").addEventListener("blur", () => ask(0));
  storage((store) => store.length);
  chosen();
  others();
};
