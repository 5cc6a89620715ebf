const waiting = new Map(), heights = new Map(), teeth = new Map();

function boardHeights(folder, views, theirTeeth) {
  heights.set(folder, views);
  teeth.set(folder, theirTeeth ?? {});
  waiting.get(folder)?.forEach((done) => done());
  waiting.delete(folder);
}

function loadHeights(folder) {
  if (heights.has(folder)) return Promise.resolve();
  return new Promise((done, failed) => {
    if (waiting.has(folder)) return void waiting.get(folder).push(done);
    waiting.set(folder, [done]);
    const script = document.createElement("script");
    script.src = encodeURIComponent(folder) + "/board/heights.js";
    script.onerror = () => { waiting.delete(folder); failed(new Error("no heights")); };
    document.head.append(script);
  });
}

async function readHeights(folder, view) {
  const image = new Image();
  image.src = heights.get(folder)[view];
  await image.decode();
  const canvas = Object.assign(document.createElement("canvas"), { width: image.width, height: image.height });
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(image, 0, 0);
  const bytes = pen.getImageData(0, 0, image.width, image.height).data;
  const { zero, step, unmeasured } = held.heights;
  const values = new Float32Array(image.width * image.height);
  for (let at = 0; at < values.length; at++) {
    const whole = bytes[4 * at] * 256 + bytes[4 * at + 1];
    values[at] = whole === unmeasured ? NaN : (whole - zero) * step;
  }
  return { width: image.width, height: image.height, values };
}

function layOut() {
  const pair = picks.slice(-2);
  by("pair").hidden = pair.length < 2;
  if (pair.length < 2) return;
  standAbreast(picks.slice(-ABREAST));
  const [one, two] = pair, view = by("view").value;
  by("under").src = two.getAttribute("data-see-" + view) ?? "data:,";
  by("upper").src = one.getAttribute("data-see-" + view) ?? "data:,";
  by("under").alt = nameOf(two);
  by("ghost").src = by("under").src;
  by("upper").alt = nameOf(one);
  by("names").textContent = "Left of the edge: " + nameOf(one) + ". Right of it: " + nameOf(two) + ".";
  const same = one.dataset.camera && one.dataset.camera === two.dataset.camera;
  by("cameras").textContent = same ? "Both were taken from the very same place." : "These two were not taken from the same place, so only the pictures are shown.";
  uncover();
  drawDifference(one, two, same ? view : "");
}

function uncover() {
  by("upper").style.clipPath = "inset(0 " + (100 - by("slide").value) + "% 0 0)";
  document.querySelector("#pair .edge").style.left = by("slide").value + "%";
}

let drawing = 0, difference = null;

async function drawDifference(one, two, view) {
  const mine = ++drawing;
  difference = null;
  const folders = [one.dataset.folder, two.dataset.folder];
  try {
    if (!view) throw new Error("another camera");
    await Promise.all(folders.map(loadHeights));
    if (folders.some((folder) => !(view in heights.get(folder)))) throw new Error("no heights in this view");
    const [first, second] = await Promise.all(folders.map((folder) => readHeights(folder, view)));
    if (mine === drawing) paintDifference(first, second, nameOf(one), nameOf(two), teethWords(...folders));
  } catch {
    if (mine !== drawing) return;
    by("map").hidden = by("legend").hidden = true;
    by("said").textContent = view ? "No difference in millimetres here: heights were measured at rest, in the other views." : "No difference in millimetres between pictures from different places.";
  }
}

const ROUND = [0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];

function teethWords(first, second) {
  const words = [];
  for (const role of ["upper_teeth", "lower_teeth"]) {
    const one = teeth.get(first)[role], two = teeth.get(second)[role], name = role.replace("_", " ");
    if (!one && !two || one?.print === two?.print) continue;
    if (!one || !two) { words.push("Only one of them has " + name + "."); continue; }
    const most = Math.max(...one.size_mm.map((side, at) => Math.abs(side - two.size_mm[at])));
    words.push("Their " + name + " differ" + (most >= 0.05 ? ", by " + most.toFixed(1) + " mm in size" : " in shape") + ".");
  }
  return words.join(" ");
}

function paintDifference(first, second, firstName, secondName, aboutTeeth) {
  const { width, height } = first, values = second.values.map((value, at) => value - first.values[at]);
  let most = 0, least = 0, over = 0, known = 0;
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    known++;
    most = Math.max(most, value);
    least = Math.min(least, value);
    over += Math.abs(value) > 0.1;
  }
  const end = ROUND.find((step) => step >= Math.max(most, -least)) ?? 100;
  const canvas = by("map"), pen = canvas.getContext("2d");
  canvas.width = width;
  canvas.height = height;
  const picture = pen.createImageData(width, height);
  values.forEach((value, at) => picture.data.set(Math.abs(value) >= 0.005 ? [...colour(value / end), 255] : [0, 0, 0, 0], 4 * at));
  pen.putImageData(picture, 0, 0);
  canvas.hidden = by("legend").hidden = false;
  paintScale();
  by("low").textContent = "\u2212" + end + " mm: " + firstName + " stands out";
  by("high").textContent = "+" + end + " mm: " + secondName + " stands out";
  const words = most < 0.005 && least > -0.005 ? "Their skin stands equally far out wherever this view sees it."
    : secondName + " stands out by up to " + most.toFixed(2) + " mm and lies deeper by up to " + (-least).toFixed(2) + " mm; "
      + (100 * over / (known || 1)).toFixed(1) + " % of what this view sees differs by more than 0.1 mm. Measured along the bare skin's own direction.";
  const said = aboutTeeth ? words + " " + aboutTeeth : words;
  by("said").textContent = said;
  canvas.setAttribute("aria-label", said);
  difference = { width, height, values, words: said };
}

function colour(share) {
  const place = (Math.min(Math.max(share, -1), 1) + 1) / 2 * (held.colours.length - 1);
  const low = Math.min(Math.floor(place), held.colours.length - 2), rest = place - low;
  return held.colours[low].map((channel, at) => channel * (1 - rest) + held.colours[low + 1][at] * rest);
}

function paintScale() {
  const canvas = by("scale"), pen = canvas.getContext("2d");
  for (let x = 0; x < canvas.width; x++) {
    pen.fillStyle = "rgb(" + colour(2 * x / (canvas.width - 1) - 1).map(Math.round).join(",") + ")";
    pen.fillRect(x, 0, 1, canvas.height);
  }
}

function readOut(event) {
  if (!difference) return;
  const box = by("map").getBoundingClientRect();
  const x = Math.floor((event.clientX - box.left) / box.width * difference.width), y = Math.floor((event.clientY - box.top) / box.height * difference.height);
  const value = difference.values[y * difference.width + x];
  by("map").title = Number.isFinite(value) ? (value < 0 ? "\u2212" : "+") + Math.abs(value).toFixed(2) + " mm here" : "nothing measured here";
}

function swap() {
  if (picks.length > 1) picks.push(picks.splice(-2, 1)[0]);
  layOut();
}
