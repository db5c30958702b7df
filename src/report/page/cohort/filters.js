"use strict";
(() => {
  const form = document.getElementById("filters");
  const status = document.getElementById("shown");
  const empty = document.getElementById("none");
  const pairs = [...document.querySelectorAll("article")];
  const nobody = form.dataset.nobody;

  // The filters stand in the address after #, so that a view can be kept, opened again and sent on.
  const fromAddress = () => {
    const wanted = new URLSearchParams(location.hash.slice(1));
    for (const field of form.elements) {
      if (!field.name) continue;
      field.value = wanted.get(field.name) ?? "";
      // A choice that this cohort does not have counts as none.
      if (field.selectedIndex === -1) field.value = "";
    }
  };
  const toAddress = () => {
    const wanted = new URLSearchParams();
    for (const field of form.elements) {
      if (field.name && field.value) wanted.set(field.name, field.value);
    }
    const hash = wanted.size ? "#" + wanted : location.pathname + location.search;
    history.replaceState(null, "", hash);
  };

  const holds = (words, word) => !word || (words || "").split(" ").includes(word);
  const apply = () => {
    const of = Object.fromEntries([...form.elements].filter((field) => field.name).map((field) => [field.name, field.value]));
    const ids = (of.pair || "").toLowerCase().split(",").map((id) => id.trim()).filter((id) => id);
    let shown = 0;
    for (const pair of pairs) {
      const data = pair.dataset;
      const fits = holds(data.check, of.check) && holds(data.criterion, of.criterion)
        && (!of.marker || (data.marker ?? nobody) === of.marker)
        && (!ids.length || ids.some((id) => data.pair.includes(id)));
      pair.hidden = !fits;
      if (fits) shown += 1;
    }
    status.textContent = shown === pairs.length ? `All ${shown} pairs are shown.` : `${shown} of ${pairs.length} pairs shown.`;
    empty.hidden = shown > 0;
  };
  const openAll = (open) => {
    for (const pair of pairs) if (!pair.hidden) pair.querySelector("details").open = open;
  };

  form.addEventListener("input", () => { toAddress(); apply(); });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(() => { toAddress(); apply(); }));
  document.getElementById("open").addEventListener("click", () => openAll(true));
  document.getElementById("close").addEventListener("click", () => openAll(false));
  addEventListener("hashchange", () => { fromAddress(); apply(); });
  form.hidden = false;
  fromAddress();
  apply();
})();
