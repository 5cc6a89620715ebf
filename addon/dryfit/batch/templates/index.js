"use strict";
const body = document.querySelector("#board tbody");
const rows = [...body.rows];
const by = (id) => document.getElementById(id);
const INKS = ["#0b5c7d", "#a63008", "#7a5200", "#4f5660"];
const DASHES = ["", "9 4", "3 3", "12 3 3 3"];

function sieve() {
  const words = by("find").value.toLowerCase().split(/\s+/).filter(Boolean);
  const verdict = by("verdict").value, failing = by("failing").value;
  let shown = 0;
  for (const row of rows) {
    const passes = failing && (row.getAttribute("data-" + failing) ?? "5") >= "4";
    row.hidden = passes || (verdict && row.dataset.verdict !== verdict) || !words.every((word) => row.dataset.words.includes(word));
    shown += !row.hidden;
  }
  by("shown").textContent = shown + " of " + rows.length + " shown";
}

function sort(button) {
  const heading = button.closest("th"), key = "data-" + button.dataset.sort;
  const up = heading.getAttribute("aria-sort") !== "ascending";
  for (const other of heading.parentNode.children) if (other.hasAttribute("aria-sort")) other.setAttribute("aria-sort", "none");
  heading.setAttribute("aria-sort", up ? "ascending" : "descending");
  const order = (a, b) => a.getAttribute(key).localeCompare(b.getAttribute(key), undefined, { numeric: true });
  rows.sort((a, b) => (up ? order(a, b) : order(b, a)) || a.dataset.name.localeCompare(b.dataset.name));
  body.append(...rows);
}

const picked = () => rows.filter((row) => row.querySelector(".pick").checked);

function layOut() {
  const pair = picked().slice(0, 2);
  by("pair").hidden = pair.length < 2;
  if (pair.length < 2) return;
  const key = "data-" + by("view").value;
  const [first, second] = pair.map((row) => row.getAttribute(key) ?? "");
  const [one, two] = pair.map((row) => row.querySelector("th").innerText.split("\n")[0]);
  by("under").src = by("one").src = first;
  by("upper").src = by("two").src = second;
  by("under").alt = one;
  by("upper").alt = two;
  by("names").textContent = "Left of the edge: " + two + ". Right of it: " + one + ".";
  uncover();
}

function uncover() {
  by("upper").style.clipPath = "inset(0 " + (100 - by("slide").value) + "% 0 0)";
}

function element(name, attributes, text) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

function plot(group) {
  const width = 560, height = 340, left = 56, low = 296, right = 540, top = 16;
  const xs = group.lines.flatMap((line) => line.x).filter(Number.isFinite), ys = group.lines.flatMap((line) => line.y).filter(Number.isFinite);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(0, ...ys), Math.max(...ys)];
  const across = (x) => left + ((x - x0) / (x1 - x0 || 1)) * (right - left), up = (y) => low - ((y - y0) / (y1 - y0 || 1)) * (low - top);
  const svg = element("svg", { viewBox: "0 0 " + width + " " + height, role: "img" });
  svg.append(element("title", {}, group.labels[1] + " against " + group.labels[0]));
  svg.append(element("path", { class: "axis", d: "M" + left + " " + top + "V" + low + "H" + right }));
  for (const share of [0, 0.5, 1]) {
    svg.append(element("text", { x: across(x0 + share * (x1 - x0)), y: low + 16, "text-anchor": "middle" }, (x0 + share * (x1 - x0)).toPrecision(3)));
    svg.append(element("text", { x: left - 6, y: up(y0 + share * (y1 - y0)) + 4, "text-anchor": "end" }, (y0 + share * (y1 - y0)).toPrecision(3)));
  }
  svg.append(element("text", { x: (left + right) / 2, y: height - 8, "text-anchor": "middle" }, group.labels[0]));
  svg.append(element("text", { x: 14, y: (top + low) / 2, "text-anchor": "middle", transform: "rotate(-90 14 " + (top + low) / 2 + ")" }, group.labels[1]));
  const strong = picked().map((row) => row.dataset.file);
  const ordered = [...group.lines].sort((a, b) => strong.includes(a.file) - strong.includes(b.file));
  for (const line of ordered) {
    const d = line.x.map((x, i) => (Number.isFinite(line.y[i]) ? across(x).toFixed(1) + " " + up(line.y[i]).toFixed(1) : null)).filter(Boolean);
    const path = element("path", { class: "line", d: "M" + d.join("L") });
    const place = strong.indexOf(line.file);
    path.append(element("title", {}, line.name));
    if (place >= 0) {
      path.classList.add("strong");
      path.style.stroke = INKS[place % 4];
      path.style.strokeDasharray = DASHES[place % 4];
      svg.append(element("text", { x: right - 4, y: top + 14 + 17 * place, "text-anchor": "end", style: "fill:" + INKS[place % 4] }, line.name));
    }
    svg.append(path);
  }
  return svg;
}

function draw() {
  const groups = JSON.parse(by("curves").textContent);
  by("drawn").replaceChildren(...groups.map(plot));
  by("plots").hidden = !groups.length;
}

for (const id of ["find", "verdict", "failing"]) by(id).addEventListener("input", sieve);
for (const button of document.querySelectorAll("[data-sort]")) button.addEventListener("click", () => sort(button));
for (const box of document.querySelectorAll(".pick")) box.addEventListener("change", () => { layOut(); draw(); });
by("view").addEventListener("change", layOut);
by("slide").addEventListener("input", uncover);
sieve();
draw();
