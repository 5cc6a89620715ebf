// The sieve, the order and the picks stand in the address, so that what is seen can be sent as a link.
const FIELDS = { find: "value", verdict: "value", failing: "value", only: "checked", changed: "checked", every: "checked", view: "value" };
let reading = true;

function noteAddress() {
  if (reading) return;
  const said = new URLSearchParams();
  for (const [id, kind] of Object.entries(FIELDS)) {
    const field = by(id), first = id === "view" ? field.options[0].value : "";
    if (field && field[kind] && field[kind] !== first) said.set(id, kind === "checked" ? "yes" : field.value);
  }
  const sorted = document.querySelector("#board thead [aria-sort$=cending]");
  const order = (sorted.getAttribute("aria-sort") === "ascending" ? "" : "-") + sorted.firstElementChild.dataset.sort;
  if (order !== "rank") said.set("order", order);
  for (const row of picks) said.append("pick", row.dataset.source);
  try { history.replaceState(null, "", "#" + said); } catch { /* a page that may not name its address still sorts */ }
}

function readAddress() {
  const said = new URLSearchParams(location.hash.slice(1));
  for (const [id, kind] of Object.entries(FIELDS)) {
    if (by(id) && said.has(id)) by(id)[kind] = kind === "checked" ? said.get(id) === "yes" : said.get(id);
  }
  const order = said.get("order") ?? "rank", key = order.replace(/^-/, "");
  const button = [...document.querySelectorAll("#board [data-sort]")].find((each) => each.dataset.sort === key);
  if (button && order !== "rank") sort(button, order === key);
  const wanted = said.getAll("pick");
  for (const row of byNumber) row.querySelector(".pick").checked ||= wanted.includes(row.dataset.source);
  const ticked = byNumber.filter((row) => row.querySelector(".pick").checked);
  ticked.sort((a, b) => wanted.indexOf(a.dataset.source) - wanted.indexOf(b.dataset.source));
  for (const row of ticked) pick(row.querySelector(".pick"));
  fold();
  sieve();
  reading = false;
}

readAddress();
addEventListener("hashchange", () => location.reload());
addEventListener("resize", cue);
document.querySelector(".wide").addEventListener("scroll", cue);
