// Large buttons for what a phone's pad of digits lacks, and taking a van's pages along.
"use strict";
(() => {
  const FRACTIONS = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];
  const PADS = { length: [...FRACTIONS, "ft", "in", "cm"], mass: ["lb", "kg"], tread: ["/32", "mm"], distance: ["mi", "km"], force: ["lbf", "N"] };
  const AT_ONCE = 3; // pages asked for side by side, so that others at the lot are served too

  let pads = null;
  function show(input) {
    if (pads?.previousElementSibling === input) return;
    pads?.remove();
    pads = document.createElement("div");
    pads.className = "pads";
    for (const text of PADS[input.dataset.takes] || []) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = text;
      button.addEventListener("click", () => {
        const tight = text.startsWith("/") || !input.value || /[\s-]$/.test(input.value);
        input.value += tight ? text : ` ${text}`;
        input.focus();
      });
      pads.append(button);
    }
    input.after(pads);
  }
  const inputs = [...document.querySelectorAll("input[data-takes]")].filter((one) => PADS[one.dataset.takes]);
  for (const input of inputs) input.addEventListener("focus", () => show(input));
  if (inputs.length) show(inputs[0]);

  const along = document.getElementById("along");
  if (!along || !("serviceWorker" in navigator)) return;
  const pages = along.dataset.pages.split(" ");
  let there = 0;
  const tell = (words) => { along.textContent = words.replace("{k}", there).replace("{n}", pages.length); };
  async function take(rest) {
    for (let url = rest.shift(); url; url = rest.shift()) {
      const response = await fetch(url, { headers: { "Sillway-Take": "1" } });
      if (response.ok && response.headers.get("Sillway-Keep") === "yes") there += 1;
      if (there % 10 === 0) tell(along.dataset.going);
    }
  }
  navigator.serviceWorker.ready.then(async () => {
    if (!navigator.serviceWorker.controller)
      await new Promise((done) => navigator.serviceWorker.addEventListener("controllerchange", done, { once: true }));
    tell(along.dataset.going);
    const rest = [...pages];
    await Promise.allSettled(Array.from({ length: AT_ONCE }, () => take(rest)));
    tell(there === pages.length ? along.dataset.ready : along.dataset.broken);
  });
})();
