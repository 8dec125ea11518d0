"""What moves on the run sheet: it looks up precomputed words and numbers, and computes nothing.

The only arithmetic is that of units. Texts are set as text, never as markup.
"""

from __future__ import annotations

__all__ = ["SCRIPT"]

SCRIPT = r"""
"use strict";
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const get = (id) => document.getElementById(id);
  const units = { c: "°C", g: "g" };
  const said = new WeakMap();
  const number = "(-?\\d+(?:\\.\\d+)?)";
  const degrees = new RegExp(
    number + "(?: to " + number + ")? °C(?: \\(" + number + " to " + number + "\\))?", "g");
  const grams = new RegExp(
    number + " g(?: \\(" + number + " to " + number + "\\))?(?![\\w/])", "g");

  function fahrenheit(text) {
    return String(Math.round(Number(text) * 1.8 + 32));
  }
  function ounces(text) {
    const places = (text.split(".")[1] || "").length;
    return (Number(text) / 28.349523125).toFixed(Math.min(3, places + 2));
  }
  function converted(text, mass) {
    let out = text;
    if (units.c === "°F") {
      out = out.replace(degrees, (whole, a, b, low, high) =>
        fahrenheit(a) + (b ? " to " + fahrenheit(b) : "") + " °F" +
        (low ? " (" + fahrenheit(low) + " to " + fahrenheit(high) + ")" : ""));
    }
    if (mass && units.g === "oz") {
      out = out.replace(grams, (whole, a, low, high) =>
        ounces(a) + " oz" + (low ? " (" + ounces(low) + " to " + ounces(high) + ")" : ""));
    }
    return out;
  }
  function show(element, text) {
    said.set(element, text);
    element.textContent = converted(text, element.dataset.say === "mass");
  }
  function relabel() {
    for (const element of document.querySelectorAll("[data-say]")) {
      show(element, said.has(element) ? said.get(element) : element.textContent);
    }
    for (const element of document.querySelectorAll("[data-unit]")) {
      element.textContent = units[element.dataset.unit];
    }
    for (const element of document.querySelectorAll("[data-tick]")) {
      const tick = element.dataset.tick;
      element.textContent = units.c === "°F" ? fahrenheit(tick) : tick;
    }
  }
  for (const radio of document.querySelectorAll("input[data-sets]")) {
    radio.addEventListener("change", () => {
      units[radio.dataset.sets] = radio.value;
      relabel();
    });
  }
  get("units").hidden = false;
  relabel();

  const form = get("controls");
  if (!form) { return; }
  const water = get("water"), barrel = get("barrel"), typed = get("typed");
  const home = data.columns[data.advised];
  let row = home.best;

  function warn(list) {
    const holder = get("warnings");
    holder.replaceChildren();
    for (const [severity, lead, message] of list) {
      const item = document.createElement("li");
      item.className = severity;
      const strong = document.createElement("strong");
      strong.textContent = data.texts[lead];
      const words = document.createElement("span");
      words.dataset.say = "";
      show(words, data.texts[message]);
      item.append(strong, " ", words);
      holder.append(item);
    }
    get("warned").hidden = list.length === 0;
  }
  function step(name, texts) {
    const holder = get("step-" + name);
    holder.replaceChildren();
    for (const text of texts) {
      const line = document.createElement("p");
      line.dataset.say = "mass";
      show(line, data.texts[text]);
      holder.append(line);
    }
  }
  function hair(column) {
    const across = get("hair-x"), up = get("hair-y");
    if (!across) { return; }
    across.setAttribute("transform", "translate(" + data.x[column] + " 0)");
    across.setAttribute("visibility", "visible");
    up.setAttribute("visibility", row === null ? "hidden" : "visible");
    if (row !== null) { up.setAttribute("transform", "translate(0 " + data.y[row] + ")"); }
  }
  function render() {
    const at = Number(water.value), column = data.columns[at];
    const cell = row === null ? null : column.cells[row];
    const heat = cell !== null && cell.heat;
    const advised = at === data.advised && row === home.best;
    barrel.disabled = row === null;
    if (row !== null) { barrel.value = String(row); }
    show(get("water-now"), data.texts[column.water]);
    water.setAttribute("aria-valuetext", data.texts[column.water]);
    const degree = row === null ? "do not heat" : Math.round(data.barrel[row]) + " °C";
    show(get("barrel-now"), degree);
    barrel.setAttribute("aria-valuetext", converted(degree, false));
    show(get("status"), data.texts[cell === null ? column.status : cell.status]);
    show(get("spoken"), data.texts[cell === null ? column.status : cell.status] +
      (heat ? " Soak " + data.texts[cell.figures[1]] + "." : ""));
    get("cold").hidden = heat;
    ["barrel", "soak", "mold", "cool"].forEach((name, i) => {
      show(get("figure-" + name), heat ? data.texts[cell.figures[i]] : "–");
    });
    for (const part of document.querySelectorAll(".hot")) { part.hidden = !heat; }
    get("why").hidden = heat || at !== data.advised;
    ["heat", "load", "cool"].forEach((name, i) => step(name, heat ? cell.steps[i] : []));
    const jar = get("step-jar");
    if (jar) { jar.closest("li").hidden = at !== data.advised; }
    const stop = get("figure-jar");
    if (stop) { stop.parentElement.hidden = at !== data.advised; }
    for (const note of document.querySelectorAll(".advised")) { note.hidden = !advised; }
    get("moved").hidden = advised;
    get("elsewhere").hidden = at === data.now || at === data.advised;
    warn(cell === null ? column.warnings : cell.warnings);
    hair(at);
  }
  function wet(at) {
    water.value = String(at);
    row = data.columns[at].best;
    render();
  }
  water.addEventListener("input", () => {
    get("typed-says").textContent = "";
    wet(Number(water.value));
  });
  barrel.addEventListener("input", () => {
    row = Number(barrel.value);
    render();
  });
  get("back").addEventListener("click", () => {
    typed.value = "";
    get("typed-says").textContent = "";
    wet(data.advised);
  });
  function read(text) {
    const bare = text.trim().replace(/\s*%$/, "");
    if (!/^\d+(?:[.,]\d+)?$/.test(bare)) {
      return [null, "Write one number, such as 12.5 or 12,5."];
    }
    if (/^\d+,\d{3}$/.test(bare)) {
      return [null, "This comma can be read two ways; write a point for the decimals."];
    }
    return [Number(bare.replace(",", ".")), ""];
  }
  function typing() {
    if (typed.value.trim() === "") { return; }
    const [value, trouble] = read(typed.value);
    const says = get("typed-says");
    typed.setAttribute("aria-invalid", String(value === null));
    if (value === null) { says.textContent = trouble; return; }
    const first = data.moisture[0], last = data.moisture[data.moisture.length - 1];
    if (value < first - 0.5 || value > last + 0.5) {
      typed.setAttribute("aria-invalid", "true");
      says.textContent = "This sheet reaches from " + first.toFixed(1) + " to " +
        last.toFixed(1) + " % water; make a new one for other pellets.";
      return;
    }
    let at = 0;
    data.moisture.forEach((w, i) => {
      if (Math.abs(w - value) < Math.abs(data.moisture[at] - value)) { at = i; }
    });
    const near = Math.abs(data.moisture[at] - value) < 0.051;
    says.textContent = near ? "" :
      "Shown for " + data.texts[data.columns[at].water] + ", the nearest that was worked out.";
    wet(at);
  }
  typed.addEventListener("change", typing);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    typing();
  });
  form.hidden = false;
})();
"""
