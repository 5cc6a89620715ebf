const INKS = ["#0b5c7d", "#a63008", "#7a5200", "#4f5660"];
const DASHES = ["", "9 4", "3 3", "12 3 3 3"];
const drawn = [];

function element(name, attributes, text) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

function range(lists) {
  let low = Infinity, high = -Infinity;
  for (const list of lists) for (const value of list) if (Number.isFinite(value)) { low = Math.min(low, value); high = Math.max(high, value); }
  return [low, high];
}

function ticks(low, high) {
  const rough = (high - low) / 5 || 1, power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 2.5, 5, 10].map((factor) => factor * power).find((size) => size >= rough * 0.999);
  const places = [];
  for (let at = Math.ceil(low / step - 1e-9); at * step <= high + 1e-9 * step; at++) places.push(Number((at * step).toPrecision(6)));
  return places;
}

function plot(group) {
  const width = 560, height = 340, left = 56, low = 296, right = 540, top = 16;
  const [title, xWords, yWords] = group.labels;
  const [x0, x1] = range(group.lines.map((line) => line.x));
  let [y0, y1] = range(group.lines.map((line) => line.y));
  y0 = Math.min(0, y0);
  const across = (x) => left + ((x - x0) / (x1 - x0 || 1)) * (right - left), up = (y) => low - ((y - y0) / (y1 - y0 || 1)) * (low - top);
  const svg = element("svg", { viewBox: "0 0 " + width + " " + height, role: "img", "aria-label": title + ": " + yWords + " against " + xWords });
  svg.append(element("path", { class: "axis", d: "M" + left + " " + top + "V" + low + "H" + right }));
  for (const x of ticks(x0, x1)) svg.append(element("text", { x: across(x), y: low + 16, "text-anchor": "middle" }, String(x)));
  for (const y of ticks(y0, y1)) {
    svg.append(element("path", { class: "axis", d: "M" + (left - 4) + " " + up(y).toFixed(1) + "h4" }));
    svg.append(element("text", { x: left - 7, y: up(y) + 4, "text-anchor": "end" }, String(y)));
  }
  svg.append(element("text", { x: (left + right) / 2, y: height - 8, "text-anchor": "middle" }, xWords));
  svg.append(element("text", { x: 14, y: (top + low) / 2, "text-anchor": "middle", transform: "rotate(-90 14 " + (top + low) / 2 + ")" }, yWords));
  const names = element("g", {});
  for (const line of group.lines) {
    const points = line.x.map((x, at) => (Number.isFinite(line.y[at]) ? across(x).toFixed(1) + " " + up(line.y[at]).toFixed(1) : null)).filter(Boolean);
    const path = element("path", { class: "line", d: "M" + points.join("L") });
    path.append(element("title", {}, nameOf(byNumber[line.row])));
    svg.append(path);
    drawn.push({ path, row: byNumber[line.row], svg, names });
  }
  svg.append(names);
  const figure = document.createElement("figure"), heading = document.createElement("h3");
  heading.textContent = title;
  figure.append(heading, svg);
  return figure;
}

let strong = new Set();

function strengthen() {
  const shown = picks.slice(-4), now = new Set();
  for (const { path, row } of drawn) {
    const display = row.hidden && !shown.includes(row) ? "none" : "";
    if (path.style.display !== display) path.style.display = display;
  }
  for (const { names } of drawn) if (names.firstChild) names.replaceChildren();
  for (const line of drawn) {
    const place = shown.indexOf(line.row);
    if (place < 0) {
      if (strong.has(line.path)) { line.path.classList.remove("strong"); line.path.removeAttribute("style"); line.path.style.display = line.row.hidden ? "none" : ""; }
      continue;
    }
    now.add(line.path);
    line.path.classList.add("strong");
    line.path.style.stroke = INKS[place];
    line.path.style.strokeDasharray = DASHES[place];
    line.names.append(element("text", { x: 68, y: 30 + 17 * place, style: "fill:" + INKS[place] }, nameOf(line.row)));
    line.svg.insertBefore(line.path, line.names);
  }
  strong = now;
}

by("drawn").append(...held.curves.map(plot));
by("plots").hidden = !held.curves.length;
for (const id of ["find", "verdict", "failing", "only", "changed"]) by(id)?.addEventListener("input", sieve);
by("every")?.addEventListener("input", () => { fold(); noteAddress(); });
document.querySelector(".sieve").addEventListener("submit", (event) => event.preventDefault());
by("clear").addEventListener("click", showAll);
by("board").tHead.addEventListener("click", (event) => { const button = event.target.closest("[data-sort]"); if (button) sort(button); });
body.addEventListener("change", (event) => { if (event.target.matches(".pick")) pick(event.target); });
by("view").addEventListener("change", () => { layOut(); noteAddress(); });
by("slide").addEventListener("input", uncover);
by("swap").addEventListener("click", swap);
by("map").addEventListener("mousemove", readOut);
