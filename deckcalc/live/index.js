// The list of calculations, narrowed by words.
const index = () => {
  const field = document.getElementById("words"), status = document.getElementById("status");
  const items = [...document.querySelectorAll("li[data-words]")], count = items.length;
  const refresh = () => {
    const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const one of items) {
      one.hidden = !words.every((word) => one.dataset.words.includes(word));
      shown += !one.hidden;
    }
    for (const one of document.querySelectorAll("section[data-subject]")) one.hidden = !one.querySelector("li:not([hidden])");
    status.textContent = words.length ? `${shown} of ${count} calculations` : `${count} calculations`;
  };
  field.addEventListener("input", refresh);
  refresh();
};
