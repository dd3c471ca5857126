"use strict";
(function () {
  const root = document.documentElement;
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const packed = document.getElementById("packed");

  // Live charts: the library lies packed in the page and is unpacked at the first press. ------------
  let library = null;
  function unpacked() {
    library ??= (async () => {
      const bytes = Uint8Array.from(atob(packed.textContent.trim()), (sign) => sign.charCodeAt(0));
      const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
      const script = document.createElement("script");
      script.textContent = await new Response(stream).text();
      document.head.append(script);
    })();
    return library;
  }
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
    const look = getComputedStyle(root), soft = look.getPropertyValue("--soft").trim();
    Object.assign(drawn.layout, { autosize: true, dragmode: "zoom",
      modebar: { bgcolor: "rgba(0,0,0,0)", color: soft, activecolor: soft } });
    drawn.layout.margin.t += 26;
    drawn.layout.margin.b += 8;
    drawn.layout.height += 34;
    drawn.layout.xaxis.fixedrange = false;
    const name = figure.querySelector("svg title").textContent;
    return Plotly.newPlot(live, drawn.data, drawn.layout, {
      displaylogo: false, responsive: true, displayModeBar: true,
      modeBarButtons: [["zoomIn2d", "zoomOut2d", "resetScale2d", "toImage"]],
      toImageButtonOptions: { format: "svg", filename: name },
    });
  }
  const alive = (figure) => !figure.querySelector(".live").hidden;
  async function explore(button) {
    const opening = !button.classList.contains("open");
    const figures = [...button.closest("section").querySelectorAll("figure.sheet")]
      .filter((figure) => !figure.closest("details:not([open])"));
    if (opening) await unpacked();
    button.classList.toggle("open", opening);
    button.querySelector(".word").textContent = opening ? "Back to the drawing" : "Explore";
    button.nextElementSibling.textContent = opening
      ? "Point at a mark or tap it for its values; drag to zoom; the camera saves the picture." : "";
    for (const figure of figures) {
      figure.querySelector(".live").hidden = !opening;
      figure.querySelector(".still").hidden = opening;
      if (opening) paint(figure);
      else Plotly.purge(figure.querySelector(".live"));
    }
  }
  for (const button of packed ? document.querySelectorAll(".explore") : []) {
    button.hidden = false;
    button.addEventListener("click", () => explore(button));
  }
  dark.addEventListener("change", () => {
    for (const figure of document.querySelectorAll("figure.sheet")) if (alive(figure)) paint(figure);
  });

  // A line to move along a drawing: how many of the fifty lie below it. -----------------------------
  function counting(figure) {
    const svg = figure.querySelector("svg.chart");
    const { data, layout } = JSON.parse(figure.querySelector("script").textContent);
    const m = layout.margin, [from, to] = layout.xaxis.range;
    const dots = data.filter((t) => t.mode === "markers" && t.text).flatMap((t) => t.x);
    const make = (name) => svg.appendChild(document.createElementNS(svg.namespaceURI, name));
    const line = make("path"), text = make("text");
    line.setAttribute("stroke", "var(--ink)");
    text.setAttribute("fill", "var(--ink)");
    text.setAttribute("y", 12);
    svg.style.touchAction = "pan-y";
    svg.addEventListener("pointermove", (event) => {
      const box = svg.getBoundingClientRect(), x = (event.clientX - box.left) / box.width * layout.width;
      const value = from + (x - m.l) / (layout.width - m.l - m.r) * (to - from);
      if (value < from || value > to) return;
      line.setAttribute("d", `M${x} 0V${layout.height - m.b}`);
      text.setAttribute("x", Math.min(x + 4, layout.width - 84));
      text.textContent = `${dots.filter((d) => d < value).length} of 50 below`;
    });
    svg.addEventListener("pointerleave", () => { line.setAttribute("d", ""); text.textContent = ""; });
  }
  for (const figure of document.querySelectorAll("figure[id^='strip-']")) counting(figure);

  // Where one is: the last section whose head has come up to the links. -----------------------------
  const links = [...document.querySelectorAll("nav a")];
  const headOf = (link) => document.getElementById(link.hash.slice(1)).getBoundingClientRect().top;
  function here() {
    const line = 96, passed = links.filter((link) => headOf(link) < line);
    let now = passed.at(-1);
    if (now && scrollY + innerHeight >= root.scrollHeight - 2) { // what no scrolling brings up there
      now = links.find((link) => link.hash === location.hash && headOf(link) >= line) ?? links.at(-1);
    }
    for (const link of links) {
      if (link === now) link.setAttribute("aria-current", "location");
      else link.removeAttribute("aria-current");
    }
  }
  for (const event of ["scroll", "resize", "hashchange"]) addEventListener(event, here, { passive: true });
  here();

  // Paper: the card alone, or the page after it with the folds that are open. ------------------------
  for (const [id, whole] of [["print", false], ["print-all", true]]) {
    const button = document.getElementById(id);
    if (!button) continue;
    button.hidden = false;
    button.addEventListener("click", () => {
      root.classList.toggle("whole", whole);
      window.print();
    });
  }
  if (location.hash) {
    const there = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (there instanceof HTMLDetailsElement) there.open = true;
  }
  for (const link of document.querySelectorAll("a[href^='#']")) {
    link.addEventListener("click", () => {
      const there = document.getElementById(link.getAttribute("href").slice(1));
      if (there instanceof HTMLDetailsElement) there.open = true;
    });
  }
})();
