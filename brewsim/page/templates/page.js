"use strict";
(function () {
  const root = document.documentElement;
  const dark = window.matchMedia("(prefers-color-scheme: dark)");

  // The figures name their colours as the page's variables; a live chart needs them worked out.
  function colored(part, look) {
    if (typeof part === "string") {
      const found = /^var\((--[a-z]+)\)$/.exec(part);
      return found ? look.getPropertyValue(found[1]).trim() : part;
    }
    if (Array.isArray(part)) return part.map((one) => colored(one, look));
    if (part && typeof part === "object") {
      return Object.fromEntries(Object.entries(part).map(([k, v]) => [k, colored(v, look)]));
    }
    return part;
  }

  function paint(figure) {
    const live = figure.querySelector(".live");
    const given = JSON.parse(figure.querySelector("script").textContent);
    const drawn = colored(given, getComputedStyle(root));
    delete drawn.layout.width;
    drawn.layout.autosize = true;
    return Plotly.newPlot(live, drawn.data, drawn.layout, { displayModeBar: false, responsive: true });
  }

  function toggle(figure, button) {
    const live = figure.querySelector(".live");
    const opening = live.hidden;
    live.hidden = !opening;
    figure.querySelector(".still").hidden = opening;
    button.setAttribute("aria-pressed", String(opening));
    if (opening) paint(figure);
    else Plotly.purge(live);
  }

  for (const figure of document.querySelectorAll("figure.sheet")) {
    const button = figure.querySelector(".switch");
    button.hidden = false;
    button.addEventListener("click", () => toggle(figure, button));
  }

  dark.addEventListener("change", () => {
    for (const figure of document.querySelectorAll("figure.sheet")) {
      if (!figure.querySelector(".live").hidden) paint(figure);
    }
  });
})();
