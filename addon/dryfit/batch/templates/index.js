"use strict";
const by = (id) => document.getElementById(id);
const held = JSON.parse(by("held").textContent);
const body = document.querySelector("#board tbody");
const rows = [...body.rows];
const byNumber = [...rows];
const ranks = (row) => Object.fromEntries([...row.attributes].map((entry) => [entry.name, entry.value]));
const facts = new Map(rows.map((row) => [row, ranks(row)]));
let picks = [];
const PASSING = held.passing, [NOT_CHECKED, NOT_ASKED, UNUSABLE] = held.unanswered; // a check at or over this rank passes, or was not asked

function sieve() {
  const words = by("find").value.toLowerCase().split(/\s+/).filter(Boolean);
  const verdict = by("verdict").value, failing = by("failing").value, only = by("only").checked;
  const changed = by("changed")?.checked;
  let shown = 0;
  for (const row of rows) {
    const fact = facts.get(row);
    const passes = failing && Number(fact["data-" + failing] ?? Infinity) >= PASSING;
    const same = changed && ["yes", "approved"].includes(fact["data-against"]);
    const out = passes || same || (only && !picks.includes(row)) || (verdict && fact["data-verdict"] !== verdict)
      || !words.every((word) => fact["data-words"].includes(word));
    if (row.hidden !== Boolean(out)) row.hidden = Boolean(out);
    shown += !out;
  }
  by("shown").textContent = shown + " of " + rows.length + " shown";
  strengthen();
  noteAddress();
}

// What was not answered says nothing of good or bad: best first it comes last, as it does not come first.
const unanswered = (rank) => rank === NOT_ASKED || rank === UNUSABLE || (rank > NOT_CHECKED - 0.5 && rank <= NOT_CHECKED);

function sort(button, wanted) {
  const heading = button.closest("th"), key = "data-" + button.dataset.sort;
  const up = wanted ?? heading.getAttribute("aria-sort") !== "ascending";
  for (const other of heading.parentNode.children) if (other.hasAttribute("aria-sort")) other.setAttribute("aria-sort", "none");
  heading.setAttribute("aria-sort", up ? "ascending" : "descending");
  const collator = new Intl.Collator(undefined, { numeric: true });
  const byName = (a, b) => collator.compare(facts.get(a)["data-name"], facts.get(b)["data-name"]);
  const rank = (row) => Number(facts.get(row)[key]);
  const order = key === "data-name" ? byName : (a, b) => rank(a) - rank(b);
  const last = (row) => !up && key !== "data-name" && key !== "data-change" && unanswered(rank(row));
  rows.sort((a, b) => last(a) - last(b) || (up ? order(a, b) : order(b, a)) || byName(a, b));
  body.append(...rows);
  document.querySelector(".wide").scrollTop = 0;
  noteAddress();
}

function pick(box) {
  const row = box.closest("tr");
  picks = picks.filter((other) => other !== row);
  if (box.checked) picks.push(row);
  layOut();
  if (by("only").checked) sieve(); else strengthen();
  noteAddress();
}

function showAll() {
  by("find").value = by("verdict").value = by("failing").value = "";
  by("only").checked = false;
  if (by("changed")) by("changed").checked = false;
  sieve();
}

const nameOf = (row) => (row.querySelector("th a") ?? row.querySelector("th").firstChild).textContent;

function fold() {
  by("board").classList.toggle("folding", Boolean(by("every")) && !by("every").checked);
  cue();
}

function cue() {
  const wide = document.querySelector(".wide"), right = wide.getBoundingClientRect().right;
  const beyond = [...document.querySelectorAll("#board thead th")].filter((cell) => cell.offsetWidth && cell.getBoundingClientRect().right > right + 1);
  by("cue").hidden = !beyond.length;
  by("cue").textContent = (beyond.length === 1 ? "1 column lies" : beyond.length + " columns lie") + " further right: scroll the table sideways.";
}
