// The lines of a calculation by hand, filled in where the page has their places.
const lines = (() => {
  const marked = /\ue000(\d+)\ue001/g;
  const safe = (text) => text.replace(/&/g, "&amp;").replace(/</g, "&lt;");
  const math = (inside) => `<math class="shown"><mrow>${inside}</mrow></math>`;

  const value = (numbers, unit) => {
    const shown = numbers.map((one) => (one.startsWith("-") ? `<mo>(</mo><mo>−</mo><mn>${one.slice(1)}</mn>` : `<mn>${one}</mn>`)).join("<mo>,</mo>");
    const after = unit ? `<mspace width="0.2em"/><mtext>${safe(unit)}</mtext>` : "";
    return `<mrow>${shown}${after}${numbers.some((one) => one.startsWith("-")) ? "<mo>)</mo>" : ""}</mrow>`;
  };

  const show = (calculation, made, prefix, sheet) => {
    for (const line of calculation.lines) {
      const place = document.getElementById(`${prefix}-${line.name}`), one = (name) => place.querySelector(`.${name}`);
      if (line.numbers)
        one("numbers").innerHTML = line.numbers.replace(/<mtext>\ue000(\d+)\ue001<\/mtext>/g, (_, at) => {
          const name = line.operands[at];
          return value(made.numbers(name), line.bare ? "" : made.unit(name));
        });
      one("result").innerHTML = math(`<mo>=</mo>${value(made.numbers(line.name), made.unit(line.name))}`);
      if (line.sentence) one("says").textContent = `, ${line.sentence[made.system].replace(marked, (_, at) => made.text(line.operands[at]))}`;
      const which = made.governs(line);
      if (line.rivals) one("says").innerHTML = which.length === 2 ? "; both are equal" : which.length ? `; ${which[0][1]} governs` : "";
    }
    for (const one of sheet.querySelectorAll(".equation")) {
      if (one.scrollWidth > one.clientWidth + 1) one.tabIndex = 0;
      else one.removeAttribute("tabindex");
    }
  };

  return { show };
})();
// A page: what is typed is worked out at once; what cannot be used is said beside its field, and the last good result stays.
const page = (calculation, start, first) => {
  const form = document.querySelector("form"), sheet = document.getElementById("sheet"), status = document.getElementById("status");
  const fields = Object.fromEntries(calculation.params.map(({ name }) => [name, document.getElementById(`f-${name}`)]));
  const system = () => form.elements.system.value;
  let typed = false, good = null;

  const refresh = () => {
    const now = system(), texts = Object.fromEntries(Object.entries(fields).map(([name, field]) => [name, field.value]));
    const { given, faults } = hand.entries(calculation, texts, now);
    for (const [name, field] of Object.entries(fields)) {
      field.setAttribute("aria-invalid", name in faults ? "true" : "false");
      document.getElementById(`e-${name}`).textContent = faults[name] ?? "";
    }
    let why = "";
    const wrong = Object.keys(faults).length;
    if (wrong) why = wrong === 1 ? "One entry cannot be used." : `${wrong} entries cannot be used.`;
    else {
      try {
        good = { ...hand.written(calculation, given, now), system: now };
        lines.show(calculation, good, "l", sheet);
      } catch (error) {
        if (!(error instanceof $.Refused)) throw error;
        why = `Cannot be calculated: ${error.message}.`;
      }
    }
    sheet.classList.toggle("old", Boolean(why));
    sheet.classList.toggle("none", !good);
    const last = calculation.lines.at(-1), said = document.querySelector(`#l-${last.name} .comment`)?.textContent;
    status.textContent = why ? `${why} ${good ? "The calculation below is that of the last good values." : ""}` : `${said}: ${good.text(last.name)}`;
    status.classList.toggle("bad", Boolean(why));
  };

  const worded = () => {
    for (const one of document.querySelectorAll("[data-us]")) {
      one.dataset.si ??= one.textContent;
      one.textContent = system() === "US" ? one.dataset.us : one.dataset.si;
    }
  };
  const fill = () => {
    for (const [name, field] of Object.entries(fields)) field.value = start[system()][name];
    typed = false;
  };
  form.addEventListener("input", (event) => {
    if (event.target.name !== "system") typed = true;
    else {
      worded();
      if (!typed) fill();
    }
    refresh();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  document.getElementById("example").addEventListener("click", () => {
    fill();
    refresh();
  });
  form.elements.system.value = first;
  worded();
  fill();
  refresh();
};
