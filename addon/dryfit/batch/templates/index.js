"use strict";
const by = (id) => document.getElementById(id);
const held = JSON.parse(by("held").textContent);
const body = document.querySelector("#board tbody");
const rows = [...body.rows];
const byNumber = [...rows];
const ranks = (row) => Object.fromEntries([...row.attributes].map((entry) => [entry.name, entry.value]));
const facts = new Map(rows.map((row) => [row, ranks(row)]));
let picks = [];
const PASSING = held.passing; // a check at or over this rank passes, or was not asked

function sieve() {
  const words = by("find").value.toLowerCase().split(/\s+/).filter(Boolean);
  const verdict = by("verdict").value, failing = by("failing").value, only = by("only").checked;
  let shown = 0;
  for (const row of rows) {
    const fact = facts.get(row);
    const passes = failing && Number(fact["data-" + failing] ?? Infinity) >= PASSING;
    const out = passes || (only && !picks.includes(row)) || (verdict && fact["data-verdict"] !== verdict)
      || !words.every((word) => fact["data-words"].includes(word));
    if (row.hidden !== Boolean(out)) row.hidden = Boolean(out);
    shown += !out;
  }
  by("shown").textContent = shown + " of " + rows.length + " shown";
  strengthen();
}

function sort(button) {
  const heading = button.closest("th"), key = "data-" + button.dataset.sort;
  const up = heading.getAttribute("aria-sort") !== "ascending";
  for (const other of heading.parentNode.children) if (other.hasAttribute("aria-sort")) other.setAttribute("aria-sort", "none");
  heading.setAttribute("aria-sort", up ? "ascending" : "descending");
  const collator = new Intl.Collator(undefined, { numeric: true });
  const byName = (a, b) => collator.compare(facts.get(a)["data-name"], facts.get(b)["data-name"]);
  const order = key === "data-name" ? byName : (a, b) => Number(facts.get(a)[key]) - Number(facts.get(b)[key]);
  rows.sort((a, b) => (up ? order(a, b) : order(b, a)) || byName(a, b));
  body.append(...rows);
  document.querySelector(".wide").scrollTop = 0;
}

function pick(box) {
  const row = box.closest("tr");
  picks = picks.filter((other) => other !== row);
  if (box.checked) picks.push(row);
  layOut();
  if (by("only").checked) sieve(); else strengthen();
}

function showAll() {
  by("find").value = by("verdict").value = by("failing").value = "";
  by("only").checked = false;
  sieve();
}

const nameOf = (row) => (row.querySelector("th a") ?? row.querySelector("th").firstChild).textContent;
