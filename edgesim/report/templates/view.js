/* What is shown, what is read out, and what the controls do. */

const control = (id) => document.getElementById(id);
const frames = {};

function state() {
  return {
    option: Number(document.querySelector('input[name="option"]:checked').value),
    member: Number(control("member").value),
    others: control("others").checked,
    time: Number(control("time").value),
    along: Number(control("along").value),
    across: Number(control("across").value),
  };
}

/** Row of the packed arrays: the median, or one future. */
const rowOf = (now) => (now.member === 0 ? MEDIAN : BANDS + now.member - 1);

function number(value, digits) {
  if (!Number.isFinite(value)) return "\u2013";
  const text = Math.abs(value) < 0.5 * 10 ** -digits ? (0).toFixed(digits) : value.toFixed(digits);
  const [whole, rest] = text.replace("-", "\u2212").split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ",");
  return rest === undefined ? grouped : `${grouped}.${rest}`;
}

const length = (metres) => `${number(metres, 2)} m (${number(metres * view.feet, 1)} ft)`;

/** Median with both bands, or the value of one future, in words. */
function spread(at, now, describe) {
  if (now.member !== 0) return describe(at(rowOf(now)));
  return `${describe(at(MEDIAN))}; half of the futures ${describe(at(1))} to ${describe(at(3))}, nine tenths ${describe(at(0))} to ${describe(at(4))}`;
}

function mapWords(now) {
  const place = view.along[now.along];
  const moved = (row) => edgeAt(now.option, row, now.time, now.along) - view.first[now.along];
  return `${about(now)}, ${length(place)} along the shore: the edge has moved landward by ${spread(moved, now, length)}.`;
}

function sectionWords(now) {
  const place = view.across[now.across];
  const side = place < 0 ? "seaward" : "landward";
  const level = (row) => groundAt(now.option, row, now.time, now.across);
  return `${about(now)}, ${length(Math.abs(place))} ${side} of the first edge: the ground stands at ${spread(level, now, length)}, above ${view.datum}.`;
}

function about(now) {
  const who = now.member === 0 ? "median" : `future ${view.members[now.member - 1]} alone`;
  return `Year ${view.years[now.time].toFixed(2)}, ${view.options[now.option].name}, ${who}`;
}

function cell(name, text, scope) {
  const made = document.createElement(name);
  if (scope) made.scope = scope;
  made.textContent = text;
  if (name === "td") made.className = "number";
  return made;
}

function row(cells) {
  const made = document.createElement("tr");
  made.append(...cells);
  return made;
}

function valuesTable(now) {
  const table = control("values");
  table.caption.textContent = `${about(now)}${now.member === 0 ? `, of ${view.total} futures` : ""}`;
  const heads = now.member === 0 ? ["Quantity", "Median", "Half of the futures", "Nine tenths"] : ["Quantity", "This future"];
  table.tHead.replaceChildren(row(heads.map((text, i) => { const th = cell("th", text, "col"); if (i) th.className = "number"; return th; })));
  const rows = [];
  view.series.forEach((one, index) => {
    const at = (which) => seriesAt[index](now.option, which, now.time);
    if (!Number.isFinite(at(rowOf(now)))) return;
    rows.push(valueRow(one, at, now, 1, one.unit, one.digits));
    if (one.other) rows.push(valueRow(one, at, now, one.factor, one.other, Math.max(0, one.digits - 1)));
  });
  table.tBodies[0].replaceChildren(...rows);
}

function valueRow(one, at, now, factor, unit, digits) {
  const told = (which) => number(at(which) * factor, digits);
  const cells = [cell("th", unit ? `${one.label} (${unit})` : one.label, "row")];
  if (now.member !== 0) cells.push(cell("td", told(rowOf(now))));
  else cells.push(cell("td", told(MEDIAN)), cell("td", `${told(1)} to ${told(3)}`), cell("td", `${told(0)} to ${told(4)}`));
  return row(cells);
}

/* A screen reader is told a value only when the slider has come to rest. */
let waiting = 0;
function tellLater(now) {
  clearTimeout(waiting);
  waiting = setTimeout(() => {
    control("map-reading").textContent = mapWords(now);
    control("section-reading").textContent = sectionWords(now);
  }, 120);
}

function show() {
  const now = state();
  const year = view.years[now.time];
  const when = `year ${year.toFixed(2)}, ${view.dates[now.time]}`;
  control("when").textContent = when;
  control("time").setAttribute("aria-valuetext", when);
  control("along").setAttribute("aria-valuetext", length(view.along[now.along]));
  control("across").setAttribute("aria-valuetext", `${length(view.across[now.across])} landward of the first edge`);
  control("beyond").textContent = year > view.evidence ? "Beyond the evidence: most monitored sites are younger." : "";
  frames.map = drawMap(now, rowOf(now));
  frames.section = drawSection(now, rowOf(now));
  valuesTable(now);
  tellLater(now);
}

function nearest(places, value) {
  return places.reduce((best, place, i) => (Math.abs(place - value) < Math.abs(places[best] - value) ? i : best), 0);
}

/** Pointing at a drawing moves the slider below it. */
function follow(holder, slider, places) {
  control(holder).addEventListener("pointermove", (event) => {
    const frame = frames[holder], box = frame.svg.getBoundingClientRect();
    const found = nearest(places, frame.fromPixel((event.clientX - box.left) / box.width * frame.width));
    if (found !== Number(control(slider).value)) { control(slider).value = found; show(); }
  });
}

document.querySelector("form").addEventListener("submit", (event) => event.preventDefault());
document.querySelectorAll("input, select").forEach((one) => one.addEventListener("input", show));
follow("map", "along", view.along);
follow("section", "across", view.across);
let width = 0;
new ResizeObserver(() => {
  const wide = control("map").clientWidth;
  if (wide !== width) { width = wide; show(); }
}).observe(control("map"));
show();
