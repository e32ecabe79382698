// Exercises: an answer read with its unit and marked by the rules of `deckcalc.live.exercises`, the solution worked by hand.
const marking = (() => {
  const near = (a, b, within) => Math.abs(a - b) <= within * Math.abs(b);
  const filled = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

  const slip = (number, right, { said, rightWithin, powers, factors }) => {
    const ratio = right ? number / right : 0;
    if (ratio <= 0) return null;
    for (const [text, list, what] of [[said.power, powers, () => ""], [said.factor, factors, (one) => one[1]]])
      for (const one of list)
        for (const [times, much] of [[one[0], "much"], [1 / one[0], "little"]])
          if (near(ratio, times, rightWithin)) return filled(text, { factor: what(one) ? String(one[0]) : one[1], much, what: what(one) });
    return null;
  };

  // what is said of an answer: kind of slip and words
  const mark = (exercise, task, system, text, rules) => {
    const { said, rightWithin, roundedWithin } = rules;
    if (!text.trim()) return ["no answer", said["no answer"]];
    const { kind, wanted, unit, dimensionless } = exercise.answer[system];
    let number;
    try {
      number = hand.toPlain(reading.read(text, kind, false, wanted)[0], unit);
    } catch (error) {
      if (!(error instanceof $.Refused)) throw error;
      return ["unit", `${error.message}.`];
    }
    if (near(number, task.right, rightWithin) || near(number, task.shown, 1e-9)) return ["right", filled(said.right, task)];
    for (const [at, value] of task.wrong.entries()) if (near(number, value, rightWithin)) return ["common mistake", exercise.mistakes[at]];
    if (near(number, task.right, roundedWithin)) return ["rounding", said.rounding];
    if (near(number, -task.right, rightWithin)) return ["sign", said.sign];
    if (dimensionless && !text.includes("%") && near(number, 100 * task.right, rightWithin)) return ["unit", said.percentage];
    const factor = slip(number, task.right, rules);
    return factor === null ? ["other", said.other] : ["factor", factor];
  };

  return { mark, filled };
})();

// A lesson: the exercises below its text, with numbers of a set and in a system of units.
const lesson = (exercises, rules) => {
  const chosen = document.getElementById("numbers"), part = (key, name) => document.getElementById(`${name}-${key}`);
  const system = () => chosen.elements.system.value;
  const refreshers = exercises.map((exercise) => {
    const { key } = exercise, task = () => exercise.tasks[system()][Number(chosen.elements.set.value) - 1];
    const answer = part(key, "answer"), said = part(key, "said"), hints = part(key, "hints"), solution = part(key, "solution");
    part(key, "form").addEventListener("submit", (event) => {
      event.preventDefault();
      const [kind, words] = marking.mark(exercise, task(), system(), answer.value, rules);
      said.dataset.kind = kind;
      said.textContent = words;
      answer.setAttribute("aria-invalid", String(kind !== "right" && kind !== "no answer"));
    });
    part(key, "hint").addEventListener("click", () => {
      const next = exercise.hints[hints.children.length];
      if (next) hints.append(Object.assign(document.createElement("li"), { textContent: next }));
    });
    const solve = () => {
      if (!solution.open) return;
      const { declared, prefix } = exercise.solutions[system()];
      for (const one of solution.querySelectorAll("ol")) one.hidden = one.id !== prefix;
      const { given } = hand.entries(declared, task().given, system());
      lines.show(declared, { ...hand.written(declared, given, system()), system: system() }, prefix, solution);
    };
    solution.addEventListener("toggle", solve);
    return (afresh) => {
      part(key, "question").textContent = marking.filled(exercise.question, task().given);
      if (afresh) {
        answer.value = said.textContent = "";
        said.dataset.kind = "";
        answer.setAttribute("aria-invalid", "false");
        hints.replaceChildren();
        solution.open = false;
      }
    };
  });
  const refresh = (afresh) => refreshers.forEach((one) => one(afresh));
  chosen.addEventListener("input", () => refresh(true));
  chosen.addEventListener("submit", (event) => event.preventDefault());
  refresh(false);
};
