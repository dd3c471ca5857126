"use strict";
(function () {
  const source = document.getElementById("surfaces");
  if (!source) return;
  const data = JSON.parse(source.textContent);
  const DOTS = 50, COLUMNS = 40, WIDE = 360, EDGE = 10, FOOT = 20;
  const PITCH = (WIDE - 2 * EDGE) / COLUMNS, FEWEST = 4;

  // Packed numbers --------------------------------------------------------------------------
  function bytes(text) {
    return Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0)).buffer;
  }
  for (const one of Object.values(data.surfaces)) {
    one.mean = new Float32Array(bytes(one.mean));
    one.shapes = new Float32Array(bytes(one.shapes));
    one.scores = new Int16Array(bytes(one.scores));
  }
  for (const strip of data.strips) {
    if (strip.ends) strip.ends = strip.ends.map((packed) => new Float32Array(bytes(packed)));
  }

  // The surfaces: products of one function for each dial ----------------------------------------
  function functionsOf(axis, x, count) {
    const found = axis.nodes.map((node, i) => {
      const before = axis.nodes[i - 1], after = axis.nodes[i + 1];
      if (x <= node) return before === undefined ? (x <= node ? 1 : 0) : Math.max(0, (x - before) / (node - before));
      return after === undefined ? 1 : Math.max(0, (after - x) / (after - node));
    });
    const z = 2 * x - 1;
    let last = 1, now = z;
    for (let k = 0; found.length < count; k += 1) {
      if (k === 0) found.push(1);
      else if (k === 1) found.push(z);
      else {
        const next = ((2 * k - 1) * z * now - (k - 1) * last) / k;
        last = now;
        now = next;
        found.push(next);
      }
    }
    return found;
  }
  function share(dial, place) {
    const value = dial.places[place];
    return dial.high > dial.low ? (value - dial.low) / (dial.high - dial.low) : 0;
  }
  function block(surface, stands) {
    let at = 0;
    for (const i of surface.choices) at = at * data.dials[i].choices.length + stands[i];
    return at;
  }
  function predicted(name, stands) {
    const one = data.surfaces[name], size = one.terms.length;
    const counts = one.axes.map((_, j) => 1 + Math.max(...one.terms.map((term) => term[j])));
    const along = one.axes.map((axis, j) => functionsOf(axis, share(data.dials[axis.dial], stands[axis.dial]), counts[j]));
    const first = block(one, stands) * size, rank = one.rank, draws = data.draws;
    let mean = 0;
    const weights = new Float64Array(rank);
    one.terms.forEach((term, t) => {
      let product = 1;
      for (let j = 0; j < along.length && product; j += 1) product *= along[j][term[j]];
      if (!product) return;
      mean += product * one.mean[first + t];
      for (let r = 0; r < rank; r += 1) weights[r] += product * one.shapes[(first + t) * rank + r];
    });
    const values = new Float64Array(draws).fill(mean);
    for (let r = 0; r < rank; r += 1) {
      const weight = weights[r], at = r * draws;
      for (let d = 0; d < draws; d += 1) values[d] += weight * one.scores[at + d];
    }
    return values;
  }
  function valuesAt(stands) {
    const made = {};
    for (const name of Object.keys(data.surfaces)) made[name] = predicted(name, stands);
    for (const [name, [top, bottom]] of Object.entries(data.ratios)) {
      made[name] = made[top].map((over, d) =>
        Math.log2((1 + Math.max(over, 0)) / (1 + Math.max(made[bottom][d], 0))));
    }
    return data.strips.map((strip) => made[strip.name]);
  }

  // Fifty batches of the draws whose counts are those of all ---------------------------------------
  const aimed = data.strips.map((strip, i) => (strip.target ? i : -1)).filter((i) => i >= 0);
  function lands(strip, value, d) {
    const [low, high] = strip.ends ? strip.ends.map((end) => end[d]) : strip.target;
    return Number.isFinite(value) && (low === null || value >= low) && (high === null || value <= high);
  }
  function signs(values) {
    const found = new Int32Array(data.draws);
    aimed.forEach((i, bit) => {
      for (let d = 0; d < data.draws; d += 1) if (lands(data.strips[i], values[i][d], d)) found[d] |= 1 << bit;
    });
    return found;
  }
  const all = (1 << aimed.length) - 1;
  function shares(found) {
    const counts = aimed.map((_, bit) => found.reduce((sum, s) => sum + ((s >> bit) & 1), 0));
    counts.push(found.reduce((sum, s) => sum + (s === all ? 1 : 0), 0));
    return counts.map((count) => count / data.draws);
  }
  const axisOf = (strip, value) => (strip.logged ? Math.log2(Math.max(value, 1e-12)) : value);
  const starts = data.dials.map((dial) => dial.start);
  const today = valuesAt(starts), todaySigns = signs(today), todayShares = shares(todaySigns);
  const spreads = today.map((values, i) => {
    const at = Array.from(values, (v) => axisOf(data.strips[i], v));
    const mean = at.reduce((a, b) => a + b, 0) / at.length;
    return Math.sqrt(at.reduce((a, b) => a + (b - mean) ** 2, 0) / at.length) || 1;
  });
  const own = [...aimed.map((i) => data.strips[i].chance), data.joint]
    .map((chance, k) => (chance === null || chance === undefined ? todayShares[k] : chance));
  const moved = (found) => shares(found).map((value, k) => own[k] + value - todayShares[k]);
  // What was told of a move, judged on many more draws, holds there; what the dials' own draws
  // differ by fades on the way to today's settings and to the other moves.
  function apart(one, other) {
    return data.dials.reduce((sum, dial, i) => sum + (dial.choices.length
      ? Number(one[i] !== other[i]) : Math.abs(share(dial, one[i]) - share(dial, other[i]))), 0);
  }
  const anchors = data.moves.filter((move) => move && apart(move.stands, starts) > 0).map(({ stands, told }) => {
    const here = moved(signs(valuesAt(stands)));
    return { stands, more: here.map((value, k) => (told[k] === null || told[k] === undefined ? 0 : told[k] - value)) };
  });
  function near(anchor, stands) {
    return anchors.reduce((weight, other) => {
      const full = apart(anchor.stands, other.stands);
      return full > 0 ? weight * Math.min(1, apart(stands, other.stands) / full) : weight;
    }, Math.max(0, 1 - apart(stands, anchor.stands) / apart(starts, anchor.stands)));
  }
  function chances(found, stands) {
    const weights = anchors.map((anchor) => near(anchor, stands));
    return moved(found).map((value, k) => {
      const more = anchors.reduce((sum, anchor, i) => sum + weights[i] * anchor.more[k], 0);
      return Math.min(1, Math.max(0, value + more));
    });
  }
  function dotsFor(values, found, stands) {
    const dots = data.dots.slice();
    if (!aimed.length) return dots;
    const wanted = chances(found, stands).map((chance) => Math.round(DOTS * chance));
    const has = (sign, k) => (k === aimed.length ? (sign === all ? 1 : 0) : (sign >> k) & 1);
    const counts = wanted.map((_, k) => dots.reduce((sum, d) => sum + has(found[d], k), 0));
    const cost = (list) => list.reduce((sum, count, k) => sum + Math.abs(count - wanted[k]), 0);
    for (let tries = 0; tries < 2 * DOTS && cost(counts) > 0; tries += 1) {
      let best = null;
      const used = new Set(dots);
      for (let from = 0; from <= all; from += 1) {
        if (!dots.some((d) => found[d] === from)) continue;
        for (let to = 0; to <= all; to += 1) {
          if (to === from) continue;
          const after = cost(counts.map((count, k) => count - has(from, k) + has(to, k)));
          if (after < (best ? best.after : cost(counts))
            && found.some((s, d) => s === to && !used.has(d))) best = { from, to, after };
        }
      }
      if (!best) break;
      let near = null;
      dots.forEach((dot, place) => {
        if (found[dot] !== best.from) return;
        for (let d = 0; d < data.draws; d += 1) {
          if (found[d] !== best.to || used.has(d)) continue;
          let far = 0;
          values.forEach((list, i) => {
            far += ((axisOf(data.strips[i], list[d]) - axisOf(data.strips[i], list[dot])) / spreads[i]) ** 2;
          });
          if (!near || far < near.far) near = { far, place, d };
        }
      });
      dots[near.place] = near.d;
      counts.forEach((_, k) => { counts[k] += has(best.to, k) - has(best.from, k); });
    }
    return dots;
  }

  // Numbers as the page prints them ------------------------------------------------------------
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
  const shown = (strip, value) => strip.fold ? times(value) : number(value, strip.decimals, strip.figures);
  const withUnit = (strip, text) => strip.unit ? `${text} ${strip.unit}` : text;

  // The moving picture --------------------------------------------------------------------------
  const board = document.getElementById("moving");
  board.style.setProperty("--strips", data.strips.length);
  const spans = today.map((values, i) => {
    const strip = data.strips[i], at = data.dots.map((d) => axisOf(strip, values[d]));
    let low = Math.min(...at), high = Math.max(...at);
    // A spread that no printed digit shows is that of the surfaces, not of the batches.
    const folds = strip.logged || strip.fold, largest = Math.max(Math.abs(low), Math.abs(high));
    const seen = folds ? 0.02 : strip.decimals === null ? 1e-3 * largest : 0.5 * 10 ** -strip.decimals;
    const flat = high - low < Math.max(seen, 1e-6 * largest, 1e-9), reach = high - low;
    if (flat) {
      const wide = folds ? 0.5 : Math.max(10 * seen, 1e-9);
      low -= wide;
      high += wide;
    }
    for (const limit of strip.target || []) {
      if (limit === null || (strip.logged && limit <= 0)) continue;
      const x = axisOf(strip, limit);
      if (flat || (x >= low - 1.5 * reach && x <= high + 1.5 * reach)) { low = Math.min(low, x); high = Math.max(high, x); }
    }
    return [low - 0.04 * (high - low), high + 0.04 * (high - low)];
  });
  function element(name, about, text) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(about)) made.setAttribute(key, value);
    if (text !== undefined) made.textContent = text;
    return made;
  }
  function ticks(strip, low, high) {
    if (strip.fold || strip.logged) {
      const step = Math.max(1, Math.ceil((high - low) / 6)), found = [];
      for (let k = Math.ceil(low / step) * step; k <= high; k += step) {
        found.push([k, strip.fold ? times(k) : number(2 ** k, null)]);
      }
      return found;
    }
    const raw = (high - low) / 5, power = 10 ** Math.floor(Math.log10(raw));
    let found = [];
    for (const m of [10, 5, 2, 1]) {
      const step = m * power;
      if (step < raw * 0.999999 && found.length > 2) break;
      const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
      found = [];
      for (let k = Math.ceil(low / step - 1e-9); k * step <= high * (1 + 1e-12); k += 1) {
        found.push([k * step, number(k * step, decimals)]);
      }
    }
    return found;
  }
  function draw(i, values, dots, found, chance) {
    const strip = data.strips[i], at = dots.map((d) => axisOf(strip, values[d])), span = spans[i];
    span[0] = Math.min(span[0], ...at);
    span[1] = Math.max(span[1], ...at);
    const [low, high] = span, x = (v) => EDGE + (v - low) / (high - low) * (WIDE - 2 * EDGE);
    const order = dots.map((_, k) => k).sort((a, b) => at[a] - at[b]);
    const piled = [], width = (high - low) / COLUMNS;
    for (let start = 0, k = 1; k <= order.length; k += 1) {
      if (k === order.length || at[order[k]] > at[order[start]] + width) {
        const centre = (at[order[start]] + at[order[k - 1]]) / 2;
        for (let h = 0; h < k - start; h += 1) piled.push([order[start + h], centre, h]);
        start = k;
      }
    }
    const rows = Math.max(FEWEST, ...piled.map((p) => p[2] + 1.3)), base = Math.min(rows, 9) * PITCH;
    const rise = base / rows;
    const svg = element("svg", { viewBox: `0 0 ${WIDE} ${base + FOOT}` });
    if (strip.target) {
      const edge = (limit, open) => limit === null || (strip.logged && limit <= 0) ? open
        : Math.min(high, Math.max(low, axisOf(strip, limit)));
      const from = x(edge(strip.target[0], low)), to = x(edge(strip.target[1], high));
      if (to > from) svg.append(element("rect", { x: from, y: 0, width: to - from, height: base, fill: "var(--window)" }));
      for (const limit of strip.target) {
        if (limit === null || (strip.logged && limit <= 0)) continue;
        const place = axisOf(strip, limit);
        if (place >= low && place <= high) svg.append(element("path", { d: `M${x(place)} 0V${base}`, stroke: "var(--target)", "stroke-width": 1.5, "stroke-dasharray": "6 4" }));
      }
    }
    svg.append(element("path", { d: `M${EDGE} ${base}H${WIDE - EDGE}`, stroke: "var(--soft)" }));
    for (const [value, text] of ticks(strip, low, high)) {
      svg.append(element("path", { d: `M${x(value)} ${base}v4`, stroke: "var(--soft)" }));
      const half = 5 * text.length, middle = Math.min(Math.max(x(value), half), WIDE - half);
      svg.append(element("text", { x: middle, y: base + 17, "text-anchor": "middle", fill: "var(--ink)" }, text));
    }
    const bit = aimed.indexOf(i);
    for (const [k, centre, h] of piled) {
      const sign = found[dots[k]], cx = x(centre), cy = base - (h + 0.5) * rise, r = PITCH * 0.42;
      if (bit < 0) svg.append(element("circle", { cx, cy, r, fill: "var(--plain)" }));
      else if ((sign >> bit) & 1) svg.append(element("circle", { cx, cy, r, fill: sign === all ? "var(--inside)" : "var(--part)", stroke: "var(--inside)", "stroke-width": 0.8 }));
      else svg.append(element("path", { d: `M${cx} ${cy - r}L${cx + r} ${cy}L${cx} ${cy + r}L${cx - r} ${cy}Z`, fill: "none", stroke: "var(--outside)", "stroke-width": 1.6 }));
    }
    const middle = medianOf(values, strip) + shifts[i];
    if (middle >= low && middle <= high) svg.append(element("path", { d: `M${x(middle)} ${base - 4}l4 7h-8Z`, fill: "var(--ink)" }));
    const over = document.createElement("p"), name = document.createElement("b"), told = document.createElement("span");
    over.className = "over";
    name.textContent = strip.label;
    const shownMiddle = withUnit(strip, shown(strip, strip.logged ? 2 ** middle : middle));
    told.textContent = bit < 0 ? `median ${shownMiddle}` : `${Math.round(DOTS * chance)} of 50, median ${shownMiddle}`;
    over.append(name, " ", told);
    const holder = document.createElement("div");
    holder.className = "strip";
    holder.append(over, svg);
    return holder;
  }
  function medianOf(values, strip) {
    const at = Array.from(values, (v) => axisOf(strip, v)).sort((a, b) => a - b);
    return (at[(at.length >> 1) - 1] + at[at.length >> 1]) / 2;
  }
  const shifts = today.map((values, i) => axisOf(data.strips[i], data.strips[i].middle) - medianOf(values, data.strips[i]));

  // Dials -----------------------------------------------------------------------------------------
  const rows = [...document.querySelectorAll("#turn .dial")];
  const controls = rows.map((row) => row.querySelector("input, select"));
  const stands = () => controls.map((one) => Number(one.value));
  function setting(i, place) {
    const dial = data.dials[i];
    return dial.choices.length ? dial.choices[place] : `${number(dial.places[place], dial.decimals)} ${dial.unit}`.trim();
  }
  const recipeCount = Math.round(DOTS * (aimed.length ? own.at(-1) : 0));
  function show() {
    const now = stands(), values = valuesAt(now), found = signs(values);
    const chance = aimed.length ? chances(found, now) : [], dots = dotsFor(values, found, now);
    board.replaceChildren(...data.strips.map((_, i) =>
      draw(i, values[i], dots, found, chance[aimed.indexOf(i)])));
    const turned = now.some((place, i) => place !== data.dials[i].start);
    const count = document.getElementById("count");
    if (aimed.length) {
      const here = Math.round(DOTS * chance.at(-1));
      const what = data.what || (aimed.length > 1 ? "meet all targets" : "meet the target");
      count.textContent = turned ? `${data.first} ${recipeCount} of 50, now ${here} of 50 ${what}.` : `${recipeCount} of 50 ${what}.`;
    } else count.textContent = turned ? "Settings changed." : "As the recipe stands.";
    rows.forEach((row, i) => {
      const words = setting(i, now[i]);
      row.querySelector("output").textContent = data.dials[i].choices.length ? "" : words;
      row.classList.toggle("changed", now[i] !== data.dials[i].start);
      if (controls[i].type === "range") controls[i].setAttribute("aria-valuetext", words);
    });
    for (const note of document.querySelectorAll("#turn .moved")) note.hidden = !turned;
  }
  let asked = false;
  function later() {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => { asked = false; show(); });
  }
  function put(places) {
    controls.forEach((one, i) => { one.value = String(places[i]); });
    show();
  }
  function lines() {
    const now = stands();
    return now.map((place, i) => [place, i]).filter(([place, i]) => place !== data.dials[i].written)
      .map(([place, i]) => {
        const [table, key] = data.dials[i].lines, [other, line] = data.dials[i].beside;
        const also = line ? `\n# in ${other}\n${line}` : "";
        return `${table ? `# in ${table}\n` : ""}${key} = "${setting(i, place).replace("\u2212", "-")}"${also}`;
      }).join("\n");
  }
  rows.forEach((row, i) => {
    controls[i].addEventListener("input", later);
    for (const button of row.querySelectorAll(".step")) {
      button.addEventListener("click", () => {
        controls[i].value = String(Number(controls[i].value) + Number(button.dataset.step));
        show();
      });
    }
  });
  document.getElementById("back").addEventListener("click", () => put(starts));
  document.getElementById("copy").addEventListener("click", async () => {
    const text = lines(), told = document.getElementById("copied");
    if (!text) { told.textContent = "Nothing is turned."; return; }
    try { await navigator.clipboard.writeText(text); told.textContent = `Copied:\n${text}`; }
    catch { told.textContent = text; }
  });
  for (const button of document.querySelectorAll(".show")) {
    const move = data.moves[Number(button.dataset.move)];
    if (!move) continue;
    button.hidden = false;
    button.addEventListener("click", () => {
      put(move.stands);
      document.getElementById("turn").scrollIntoView();
      document.getElementById("count").focus?.();
    });
  }
  document.getElementById("play").hidden = false;
  show();
})();
