"use strict";
(function () {
  const panel = document.getElementById("try");
  if (!panel) return;
  const data = JSON.parse(panel.querySelector("script").textContent);
  const dials = [...panel.querySelectorAll("[data-knob]")];
  const drawings = [...panel.querySelectorAll(".tried")];
  const WIDE = 360, EDGE = 12, COLUMNS = 34, PITCH = (WIDE - 2 * EDGE) / COLUMNS, FOOT = 24, TALLEST = 150;
  const HALF_LETTER = 5;

  // As quantities/format.py writes them (a test runs both): decimals or figures; folds as times.
  function number(value, decimals, figures = 2) {
    if (decimals === null) {
      const power = value === 0 ? figures - 1 : Number(value.toExponential(figures - 1).split("e")[1]);
      if (power >= figures) value = Number(value.toPrecision(figures));
      decimals = Math.max(0, figures - 1 - power);
    }
    let text = value.toFixed(decimals);
    if (Number(text) === 0) text = text.replace("-", "");
    return text.replace("-", "\u2212");
  }
  function times(doublings) {
    const text = number(2 ** doublings, null);
    return (text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text) + "\u00d7";
  }
  const shown = (value, outcome) => outcome.fold ? times(value) : number(value, outcome.decimals, outcome.figures);
  const axis = (value, outcome) => outcome.logged ? Math.log2(value) : value;
  const inside = (value, outcome) => {
    const [low, high] = outcome.target || [null, null];
    return (low === null || value >= low) && (high === null || value <= high);
  };

  function between(list, where) {
    const i = Math.min(Math.floor(where), list.length - 1), part = where - i;
    return part > 0 ? list[i] + part * (list[i + 1] - list[i]) : list[i];
  }
  function whereIs(knob, value) {
    const at = knob.settings;
    if (value <= at[0]) return 0;
    for (let i = 1; i < at.length; i += 1) {
      if (value <= at[i]) return i - 1 + (value - at[i - 1]) / (at[i] - at[i - 1]);
    }
    return at.length - 1;
  }
  function figures(outcome, tried, where) {
    if (!tried) return outcome;
    const i = Math.min(Math.floor(where), tried.dots.length - 1), part = where - i;
    const next = tried.dots[Math.min(i + 1, tried.dots.length - 1)];
    return {
      low: between(tried.low, where), middle: between(tried.middle, where),
      high: between(tried.high, where),
      dots: tried.dots[i].map((dot, k) => dot + part * (next[k] - dot)),
    };
  }

  function sentence(outcome, now) {
    const gaps = { low: shown(now.low, outcome), high: shown(now.high, outcome),
      middle: shown(now.middle, outcome) };
    const said = outcome.said.replace(/\{(low|high|middle)\}/g, (_, gap) => gaps[gap]);
    if (!outcome.target) return [said, ""];
    const count = now.dots.filter((dot) => inside(dot, outcome)).length;
    const dots = count === 0 ? "None" : count === 50 ? "All" : String(count);
    const one = count === 1 ? "s" : "";
    const verb = outcome.wanted.startsWith("a")
      ? `meet${one} your target of` : `land${one} inside your`;
    return [said, `${dots} of the 50 dots ${verb} ${outcome.wanted}.`];
  }
  function chance(share) {
    if (share < 0.001) return "fewer than 1 chance in 1,000";
    if (share > 0.999) return "more than 999 chances in 1,000";
    if (share < 0.02) return `about ${(1000 * share).toFixed(0)} in 1,000`;
    return `about ${(100 * share).toFixed(0)} chances in 100`;
  }

  function piles(at, width) {
    const placed = [];
    let start = 0;
    for (let i = 1; i <= at.length; i += 1) {
      if (i === at.length || at[i] > at[start] + width) {
        const centre = (at[start] + at[i - 1]) / 2;
        for (let height = 0; height < i - start; height += 1) placed.push([centre, height]);
        start = i;
      }
    }
    return placed;
  }
  function ticks(low, high) {
    const raw = (high - low) / 4, power = 10 ** Math.floor(Math.log10(raw));
    const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw * 0.999999);
    const found = [];
    for (let k = Math.ceil(low / step); k * step <= high; k += 1) found.push(k * step);
    return found.map((value) => [value, number(value, Math.max(0, -Math.floor(Math.log10(step))))]);
  }
  function marks(low, high, outcome) {
    if (!outcome.fold && !outcome.logged) return ticks(low, high);
    const found = [], step = Math.max(1, Math.ceil((high - low) / 5));
    for (let k = Math.ceil(low); k <= high; k += step) found.push(k);
    return found.map((k) => [k, outcome.fold ? times(k) : number(2 ** k, null)]);
  }

  function element(name, about, text) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(about)) made.setAttribute(key, value);
    if (text !== undefined) made.textContent = text;
    return made;
  }
  function draw(place, outcome, tried, now) {
    const svg = drawings.find((one) => one.dataset.outcome === String(place)).querySelector("svg");
    const all = tried ? tried.dots : [outcome.dots];
    const ends = all.flatMap((dots) => [axis(dots[0], outcome), axis(dots[dots.length - 1], outcome)]);
    const pad = 0.04 * (Math.max(...ends) - Math.min(...ends) || 1);
    const low = Math.min(...ends) - pad, high = Math.max(...ends) + pad;
    const column = (high - low) / COLUMNS;
    const heights = all.map((dots) => piles(dots.map((d) => axis(d, outcome)), column));
    const rows = Math.max(6, ...heights.flat().map((one) => one[1] + 2));
    const x = (value) => EDGE + (value - low) / (high - low) * (WIDE - 2 * EDGE);
    const base = Math.min(TALLEST, rows * PITCH);
    svg.setAttribute("viewBox", `0 0 ${WIDE} ${base + FOOT}`);
    svg.replaceChildren();
    if (outcome.target) {
      const edge = (limit, open) => limit === null || (outcome.logged && limit <= 0) ? open
        : Math.min(high, Math.max(low, axis(limit, outcome)));
      const from = x(edge(outcome.target[0], low)), to = x(edge(outcome.target[1], high));
      if (to > from) {
        svg.append(element("rect", { x: from, y: 0, width: to - from, height: base,
          fill: "url(#try-hatch)", stroke: "var(--target)", "stroke-dasharray": "5 4" }));
      }
    }
    svg.append(element("path", { d: `M${EDGE} ${base}H${WIDE - EDGE}`, stroke: "var(--soft)" }));
    for (const [value, text] of marks(low, high, outcome)) {
      svg.append(element("path", { d: `M${x(value)} ${base}v4`, stroke: "var(--soft)" }));
      const half = HALF_LETTER * text.length, middle = Math.min(Math.max(x(value), half), WIDE - half);
      svg.append(element("text", { x: middle, y: base + 18, "text-anchor": "middle",
        fill: "var(--ink)" }, text));
    }
    const piled = piles(now.dots.map((d) => axis(d, outcome)), column);
    const rise = Math.min(PITCH, base / Math.max(...piled.map((one) => one[1] + 1)));
    piled.forEach(([centre, height], i) => {
      const cx = x(centre), cy = base - height * rise - PITCH / 2, r = PITCH * 0.44;
      svg.append(inside(now.dots[i], outcome)
        ? element("circle", { cx, cy, r, fill: "var(--inside)" })
        : element("path", { d: `M${cx} ${cy - r}L${cx + r} ${cy}L${cx} ${cy + r}L${cx - r} ${cy}Z`,
          fill: "none", stroke: "var(--outside)", "stroke-width": 1.6 }));
    });
  }

  function setting(knob, value) {
    return knob.choices.length ? "" : `${number(value, knob.decimals)} ${knob.unit}`.trim();
  }
  function tell(dial) {
    const knob = data.knobs[Number(dial.dataset.knob)];
    const words = setting(knob, knob.places[Number(dial.value)]);
    dial.parentElement.querySelector("output").textContent = words;
    if (words) dial.setAttribute("aria-valuetext", words);
  }
  function today(dial) {
    const knob = data.knobs[Number(dial.dataset.knob)];
    dial.value = String(knob.start);
    tell(dial);
  }

  function show(dial) {
    for (const other of dials) if (other !== dial) today(other);
    const knob = dial ? data.knobs[Number(dial.dataset.knob)] : null;
    if (dial) tell(dial);
    let where = 0;
    if (knob) where = Number(dial.value);
    if (knob && !knob.choices.length) where = whereIs(knob, knob.places[where]);
    for (const one of drawings) {
      const place = one.dataset.outcome, outcome = data.outcomes[Number(place)];
      const tried = knob ? knob.moved[place] : null;
      const now = figures(outcome, tried, where);
      const [said, landed] = sentence(outcome, now);
      one.querySelector("span").textContent = said;
      one.querySelector("strong").textContent = landed;
      draw(place, outcome, tried, now);
    }
    const first = data.knobs[0], source = knob || first;
    if (source.joint.length && data.targets > 1) {
      const share = between(source.joint, knob ? where : first.now);
      const all = data.targets === 2 ? "Both" : `All ${data.targets}`;
      document.getElementById("try-joint").textContent =
        `${all} targets in the same batch: ${chance(share)}.`;
    }
  }

  for (const dial of dials) dial.addEventListener("input", () => show(dial));
  document.getElementById("try-back").addEventListener("click", () => show(null));
  panel.hidden = false;
  show(null);
})();
