"use strict";
/* Reading the packed numbers, and drawing with them. */

const view = JSON.parse(document.getElementById("data").textContent);
const SVG = "http://www.w3.org/2000/svg";
const MEDIAN = 2, BANDS = 5;
const WATER = "#eaf3f8", MARSH = "#dfeacf", MUD = "#e3dacb", WOOD = "#7a4b1e", SHELL = "#9c9c9c", INK = "#1b1f23";

/** Turn packed numbers into a function of their indices; missing ones are NaN. */
function unpack(packed) {
  const text = atob(packed.data);
  const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
  const words = new DataView(bytes.buffer);
  return (...indices) => {
    let place = 0;
    indices.forEach((index, axis) => { place = place * packed.shape[axis] + index; });
    const code = words.getInt16(2 * place, true);
    return code === view.missing ? NaN : code * packed.scale;
  };
}

const edgeAt = unpack(view.edge), groundAt = unpack(view.ground);
const seriesAt = view.series.map((one) => unpack(one.packed));

function element(name, attributes, text) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

/** Round steps of an axis with about `wanted` of them. */
function ticks(low, high, wanted) {
  const rough = (high - low) / wanted;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * power).find((s) => s >= rough * 0.99);
  const found = [];
  for (let at = Math.ceil(low / step) * step; at <= high + 1e-9; at += step) found.push(Math.abs(at) < 1e-9 ? 0 : at);
  return found;
}

function short(value) {
  return String(Math.round(value * 100) / 100).replace("-", "\u2212");
}

/** A frame with metres below and at the left, feet above and at the right. */
class Frame {
  constructor(holder, name, xs, ys, height, labels) {
    this.width = Math.max(300, holder.clientWidth);
    this.narrow = this.width < 520;
    this.left = this.narrow ? 50 : 58; this.right = this.narrow ? 44 : 52; this.top = 38; this.bottom = 40;
    this.xs = xs; this.ys = ys;
    const inner = this.width - this.left - this.right;
    this.height = Math.round(typeof height === "function" ? height(inner) : height) + this.top + this.bottom;
    this.svg = element("svg", {
      viewBox: `0 0 ${this.width} ${this.height}`, role: "img", "aria-label": name,
      "font-family": "inherit", "font-size": 12, fill: INK,
    });
    this.clip = `${holder.id}-clip`;
    const clip = element("clipPath", { id: this.clip });
    clip.append(element("rect", { x: this.left, y: this.top, width: inner, height: this.height - this.top - this.bottom }));
    this.svg.append(clip);
    this.inside = element("g", { "clip-path": `url(#${this.clip})` });
    this.svg.append(this.inside);
    this.axes(labels);
    holder.replaceChildren(this.svg);
  }
  x(value) { return this.left + (value - this.xs[0]) / (this.xs[1] - this.xs[0]) * (this.width - this.left - this.right); }
  y(value) { return this.height - this.bottom - (value - this.ys[0]) / (this.ys[1] - this.ys[0]) * (this.height - this.top - this.bottom); }
  fromPixel(pixel) { return this.xs[0] + (pixel - this.left) / (this.width - this.left - this.right) * (this.xs[1] - this.xs[0]); }
  add(name, attributes, text) { this.inside.append(element(name, attributes, text)); }
  label(attributes, text) { this.svg.append(element("text", attributes, text)); }
  axes(labels) {
    const right = this.width - this.right, foot = this.height - this.bottom;
    this.svg.append(element("rect", { x: this.left, y: this.top, width: right - this.left, height: foot - this.top, fill: "none", stroke: "#777" }));
    const across = this.narrow ? 5 : 9, up = Math.max(2, Math.round((foot - this.top) / 42));
    for (const metre of ticks(...this.xs, across)) this.tick(this.x(metre), foot, 0, 5, short(metre));
    for (const foot_ of ticks(this.xs[0] * view.feet, this.xs[1] * view.feet, across)) this.tick(this.x(foot_ / view.feet), this.top, 0, -5, short(foot_));
    for (const metre of ticks(...this.ys, up)) this.tick(this.left, this.y(metre), -5, 0, short(metre));
    for (const foot_ of ticks(this.ys[0] * view.feet, this.ys[1] * view.feet, up)) this.tick(right, this.y(foot_ / view.feet), 5, 0, short(foot_));
    const middle = (this.left + right) / 2, half = (this.top + foot) / 2;
    this.label({ x: middle, y: this.height - 6, "text-anchor": "middle" }, `${labels.x} (m)`);
    this.label({ x: middle, y: 13, "text-anchor": "middle" }, `${labels.x} (ft)`);
    this.label({ transform: `translate(12 ${half}) rotate(-90)`, "text-anchor": "middle" }, `${labels.y} (m)`);
    this.label({ transform: `translate(${this.width - 5} ${half}) rotate(-90)`, "text-anchor": "middle" }, `${labels.y} (ft)`);
  }
  tick(x, y, dx, dy, text) {
    this.svg.append(element("line", { x1: x, y1: y, x2: x + dx, y2: y + dy, stroke: "#777" }));
    const anchor = dx < 0 ? "end" : dx > 0 ? "start" : "middle";
    this.label({ x: x + 1.6 * dx, y: y + (dy > 0 ? 17 : dy < 0 ? -8 : 4), "text-anchor": anchor }, text);
  }
  line(xs, ys, attributes) {
    const points = xs.map((x, i) => (Number.isFinite(ys[i]) ? `${this.x(x).toFixed(1)},${this.y(ys[i]).toFixed(1)}` : "")).filter(Boolean);
    this.add("polyline", { points: points.join(" "), fill: "none", ...attributes });
  }
  between(xs, lower, upper, attributes) {
    const there = xs.map((x, i) => `${this.x(x).toFixed(1)},${this.y(upper[i]).toFixed(1)}`);
    const back = xs.map((x, i) => `${this.x(x).toFixed(1)},${this.y(lower[i]).toFixed(1)}`).reverse();
    this.add("polygon", { points: there.concat(back).join(" "), ...attributes });
  }
  cursor(x, y) {
    this.line([x, x], this.ys, { stroke: INK, "stroke-width": 1, "stroke-dasharray": "2 3" });
    if (Number.isFinite(y)) this.add("circle", { cx: this.x(x), cy: this.y(y), r: 5, fill: "#fff", stroke: INK, "stroke-width": 2 });
  }
}

function extent(values, margin) {
  const known = values.filter(Number.isFinite);
  const low = Math.min(...known), high = Math.max(...known), more = margin * (high - low || 1);
  return [low - more, high + more];
}

/** Whole range of the edges and lines, so that the map keeps its scale while time moves. */
function mapRange() {
  const found = [...view.first];
  const last = view.years.length - 1;
  view.options.forEach((_, option) => view.along.forEach((__, place) => {
    found.push(edgeAt(option, 0, last, place), edgeAt(option, BANDS - 1, last, place));
  }));
  for (const line of [view.walls, view.reef]) if (line) found.push(line.position - line.thickness / 2);
  return extent(found, 0.08);
}

function sectionRange() {
  const found = view.datums.map((datum) => datum[1]);
  view.across.forEach((_, place) => { found.push(groundAt(0, MEDIAN, 0, place)); });
  if (view.walls) found.push(view.walls.crest);
  if (view.reef) found.push(view.reef.crest);
  return extent(found, 0.08);
}

const LOWEST = 150;
const RANGES = { map: mapRange(), section: sectionRange() };

function drawMap(state, row) {
  const option = view.options[state.option];
  const holder = document.getElementById("map");
  const xs = [view.along[0], view.along[view.along.length - 1]];
  const [low, high] = RANGES.map;
  const frame = new Frame(holder, `Plan map of ${option.name}. Its values are read below.`, xs, RANGES.map,
    (inner) => Math.max(LOWEST, inner * (high - low) / (xs[1] - xs[0])), { x: "Along the shore", y: "Landward" });
  const edge = (which, quantile) => view.along.map((_, place) => edgeAt(which, quantile, state.time, place));
  const now = edge(state.option, row);
  const flat = (value) => view.along.map(() => value);
  frame.between(view.along, flat(low), flat(high), { fill: WATER });
  frame.between(view.along, now, flat(high), { fill: MARSH });
  frame.between(view.along, view.first, now.map((y, i) => Math.max(y, view.first[i])), { fill: MUD });
  if (row === MEDIAN) {
    frame.between(view.along, edge(state.option, 0), edge(state.option, 4), { fill: option.colour, opacity: 0.18 });
    frame.between(view.along, edge(state.option, 1), edge(state.option, 3), { fill: option.colour, opacity: 0.35 });
  }
  frame.line(view.along, view.first, { stroke: "#555", "stroke-width": 1.5, "stroke-dasharray": "1 3" });
  if (state.others) view.options.forEach((other, index) => {
    if (index !== state.option) frame.line(view.along, edge(index, row), { stroke: other.colour, "stroke-width": 1.4, "stroke-dasharray": other.dash });
  });
  frame.line(view.along, now, { stroke: option.colour, "stroke-width": 3.2 });
  if (option.walls) runs(frame, view.walls, WOOD, "walls");
  if (option.reef) runs(frame, view.reef, SHELL, "reef");
  words(frame, low + 0.03 * (high - low), high - 0.03 * (high - low));
  frame.cursor(view.along[state.along], now[state.along]);
  return frame;
}

/** How many times larger heights are drawn than lengths. */
function stretch(frame) {
  return (frame.y(0) - frame.y(1)) / (frame.x(1) - frame.x(0));
}

function words(frame, low, high) {
  const x = frame.width - frame.right - 6;
  const scale = Math.abs(stretch(frame) - 1) < 0.02 ? "true scale" : `landward drawn ${stretch(frame).toFixed(1)} times larger`;
  frame.add("text", { x, y: frame.y(low), "text-anchor": "end", "font-style": "italic" }, "channel");
  frame.add("text", { x, y: frame.y(high) + 11, "text-anchor": "end", "font-style": "italic" }, "marsh");
  frame.add("text", { x: frame.left + 6, y: frame.y(high) + 11, "font-style": "italic" }, frame.narrow ? scale : `dotted: first edge; ${scale}`);
}

function halo(frame, x, y, text, more) {
  frame.add("text", { x, y, stroke: "#fff", "stroke-width": 3, "paint-order": "stroke", ...more }, text);
}

function runs(frame, line, colour, name) {
  for (const [start, end] of line.runs) {
    const top = frame.y(line.position + line.thickness / 2), foot = frame.y(line.position - line.thickness / 2);
    frame.add("rect", { x: frame.x(start), y: top, width: frame.x(end) - frame.x(start), height: Math.max(3, foot - top), fill: colour, stroke: "#222", "stroke-width": 0.7 });
  }
  halo(frame, frame.x(line.runs[0][0]) - 6, frame.y(line.position) + 4, name, { "text-anchor": "end" });
}

function drawSection(state, row) {
  const option = view.options[state.option];
  const holder = document.getElementById("section");
  const xs = [view.across[0], view.across[view.across.length - 1]];
  const frame = new Frame(holder, `Section through the shore for ${option.name}. Its values are read below.`, xs, RANGES.section,
    holder.clientWidth < 520 ? 190 : 270, { x: "Landward of the first edge", y: view.datum });
  const ground = (quantile, time) => view.across.map((_, place) => groundAt(state.option, quantile, time, place));
  const now = ground(row, state.time), floor = view.across.map(() => RANGES.section[0]);
  const sea = view.datums.find((datum) => datum[0] === "MSL");
  if (sea) frame.between(view.across, floor, view.across.map(() => sea[1]), { fill: WATER });
  for (const [, level] of view.datums) frame.line(xs, [level, level], { stroke: "#0072b2", "stroke-width": 1, "stroke-dasharray": "6 3" });
  frame.between(view.across, floor, now, { fill: MUD });
  if (row === MEDIAN) {
    frame.between(view.across, ground(0, state.time), ground(4, state.time), { fill: "#e69f00", opacity: 0.3 });
    frame.between(view.across, ground(1, state.time), ground(3, state.time), { fill: "#e69f00", opacity: 0.5 });
  }
  if (option.walls) box(frame, view.walls, WOOD, now, "walls");
  if (option.reef) box(frame, view.reef, SHELL, now, "reef");
  frame.line(view.across, ground(MEDIAN, 0), { stroke: INK, "stroke-width": 1.3, "stroke-dasharray": "6 4" });
  frame.line(view.across, now, { stroke: "#8a4700", "stroke-width": 2.6 });
  let last = -Infinity;
  for (const [name, level] of [...view.datums].sort((a, b) => b[1] - a[1])) {
    const y = Math.max(frame.y(level) + 4, last + 13);
    const told = frame.narrow ? name : `${name} ${level.toFixed(2)} m (${(level * view.feet).toFixed(1)} ft)`.replaceAll("-", "\u2212");
    halo(frame, frame.left + 5, y, told, { fill: "#00518a" });
    last = y;
  }
  halo(frame, frame.width - frame.right - 6, frame.height - frame.bottom - 6, `heights drawn ${stretch(frame).toFixed(0)} times larger`, { "text-anchor": "end", "font-style": "italic" });
  frame.cursor(view.across[state.across], now[state.across]);
  return frame;
}

/** A line in section, from the ground to its crest as built. */
function box(frame, line, colour, ground, name) {
  const near = view.across.reduce((best, x, i) => (Math.abs(x - line.position) < Math.abs(view.across[best] - line.position) ? i : best), 0);
  const top = frame.y(line.crest), foot = frame.y(ground[near]);
  const left = frame.x(line.position - line.thickness / 2);
  frame.add("rect", { x: left, y: top, width: Math.max(4, frame.x(line.position + line.thickness / 2) - left), height: Math.max(2, foot - top), fill: colour, "fill-opacity": 0.75, stroke: "#222" });
  halo(frame, frame.x(line.position), top + 14, name, { "text-anchor": "middle" });
}
