// One plot as SVG: its frame, curves and marks, in the theme's colours.

const NS = "http://www.w3.org/2000/svg";
const DASHES = { "": "", radiator: "", ported: "9.5 3.4", sealed: "2.3 2.5" };
const WIDTHS = { sum: 2.6, limit: 2, quiet: 1.7 };
const SMALL = "11.5px system-ui, sans-serif"; // the words of plots and cutaways, as stage.css has them

function svg(parent, name, settings = {}, text) {
  const made = document.createElementNS(NS, name);
  for (const key in settings) made.setAttribute(key, settings[key]);
  if (text !== undefined) made.textContent = text;
  if (parent) parent.append(made);
  return made;
}

// How wide words of the small text are, px.
const known = new Map();
let pen;
function wideOf(words) {
  if (!known.has(words)) {
    if (!pen) (pen = document.createElement("canvas").getContext("2d")).font = SMALL;
    known.set(words, pen.measureText(words).width);
  }
  return known.get(words);
}

class PlotView {
  constructor(parent) {
    this.root = svg(parent, "svg", { role: "img", class: "plot" });
    this.clip = newName();
    this.inside = svg(svg(svg(this.root, "defs"), "clipPath", { id: this.clip }), "rect");
    for (const part of ["grid", "rules", "ghosts", "curves", "greys", "names"]) this[part] = svg(this.root, "g", { class: part });
    for (const part of ["rules", "ghosts", "curves"]) this[part].setAttribute("clip-path", `url(#${this.clip})`);
    this.drawn = "";
  }

  // Plot number `place` of a state; that of the state `held`, if of the same quantities, in grey.
  show({ of, p }, place, units, width, height, held) {
    const plot = p[place], frame = of.frames[plot.f], before = again({ of, p }, place, held);
    const key = [frame.key, units.inch, width, height].join();
    if (key !== this.drawn) this.frame(frame, units, width, height);
    this.drawn = key;
    this.strokes(this.curves, of, plot, frame, false);
    if (before) this.strokes(this.ghosts, held.of, before, held.of.frames[before.f], true);
    else this.ghosts.replaceChildren();
    this.nameGreys(before, held, units);
    this.marks(plot, frame, units, of);
  }

  frame(frame, units, width, height) {
    this.size = [width, height];
    const [ylabel, yf, yz] = units.axis(frame.y), turned = ([low, high], f, z) => [low * f + z, high * f + z];
    const places = (limits, scale, f, z) => ticks(turned(limits, f, z), scale).map((v) => [(v - z) / f, plain(v)]);
    const ys = frame.yt ? frame.yt.map((v, i) => [v, frame.yn ? frame.yn[i] : plain(v)]) : places(frame.yl, frame.ys, yf, yz);
    const named = Math.max(...ys.map(([, words]) => wideOf(words)));
    let left = Math.max(46, Math.min(150, 14 + named)), right = 14;
    const top = 22, bottom = 38;
    let across = width - left - right, high = height - top - bottom;
    if (frame.eq) { // a unit is as long on x as on y
      const ratio = (frame.xl[1] - frame.xl[0]) / (frame.yl[1] - frame.yl[0]);
      if (across / high > ratio) across = high * ratio; else high = across / ratio;
    }
    Object.assign(this, { left, top, across, high, now: frame });
    for (const [name, value] of Object.entries({ x: left, y: top - 1, width: across, height: high + 2 })) this.inside.setAttribute(name, value);
    this.root.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.grid.replaceChildren();
    const [xlabel, xf, xz] = units.axis(frame.x);
    let last = -99;
    for (const [v, words] of places(frame.xl, frame.xs, xf, xz)) {
      const x = this.x(shareOf(v, frame.xl, frame.xs) * STEPS);
      svg(this.grid, "line", { x1: x, x2: x, y1: top, y2: top + high });
      const half = wideOf(words) / 2, middle = Math.min(x, width - half); // the last one stays in sight
      if (middle - half < last + 6) continue;
      last = middle + half;
      svg(this.grid, "text", { x: middle, y: top + high + 15, "text-anchor": "middle" }, words);
    }
    for (const [v, words] of ys) {
      const y = this.y(shareOf(v, frame.yl, frame.ys) * STEPS);
      svg(this.grid, "line", { x1: left, x2: left + across, y1: y, y2: y });
      svg(this.grid, "text", { x: left - 6, y: y + 4, "text-anchor": "end" }, words);
    }
    svg(this.grid, "text", { x: left + across / 2, y: top + high + 32, "text-anchor": "middle", class: "axis" }, xlabel);
    svg(this.grid, "text", { x: frame.yn ? 0 : Math.max(0, left - 40), y: 13, class: "axis" }, ylabel);
  }

  x(step) { return this.left + step / STEPS * this.across; }
  y(step) { return this.top + (1 - step / STEPS) * this.high; }

  strokes(group, table, plot, frame, ghost) {
    while (group.childNodes.length > plot.l.length) group.lastChild.remove();
    plot.l.forEach((line, place) => {
      const node = group.childNodes[place] || svg(group, "path");
      const [role, build, kind] = table.looks[line[0]];
      const look = `${kind} ${ghost ? "ghost" : role}`;
      if (node.getAttribute("class") !== look) node.setAttribute("class", look);
      const dash = kind === "line" || kind === "steps" ? DASHES[build] : "";
      if ((node.getAttribute("stroke-dasharray") || "") !== dash) node.setAttribute("stroke-dasharray", dash);
      node.setAttribute("stroke-width", kind === "dots" ? 2.2 : ghost ? 1.8 : WIDTHS[role] || 2.2);
      node.setAttribute("d", this.path(coordinates(table, line[1]), kind, frame));
    });
  }

  // From steps along the axes of `frame` to px of the axes that are drawn.
  places(frame) {
    const { now } = this;
    const turn = (mine, scale, ours, our) => frame.key === now.key ? (s) => s : (s) => shareOf(valueAt(s / STEPS, mine, scale), ours, our) * STEPS;
    const across = turn(frame.xl, frame.xs, now.xl, now.xs), up = turn(frame.yl, frame.ys, now.yl, now.ys);
    return [(s) => this.x(across(s)), (s) => this.y(up(s))];
  }

  path([xs, ys], kind, frame) {
    const { now } = this, [px, py] = this.places(frame);
    let path = "", pen = false;
    const step = kind === "steps", spots = kind === "points" || kind === "dots";
    let first = 0, end = 0;
    for (let i = 0; i < xs.length; i++) {
      if (ys[i] === GAP) { pen = false; continue; }
      const x = px(xs[i]), y = py(ys[i]);
      if (spots) { path += kind === "dots" ? `M${x.toFixed(1)} ${y.toFixed(1)}h.1` : `M${(x - 3.2).toFixed(1)} ${y.toFixed(1)}a3.2 3.2 0 1 0 6.4 0a3.2 3.2 0 1 0 -6.4 0`; continue; }
      if (step && pen) { const half = px((xs[i] + xs[i - 1]) / 2).toFixed(1); path += `H${half}V${y.toFixed(1)}H${x.toFixed(1)}`; }
      else path += `${pen ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`;
      if (!pen && !end) first = x;
      end = x;
      pen = true;
    }
    if (kind !== "fill" || !path) return path;
    const foot = now.ys === "log" ? this.y(0) : this.y(shareOf(0, now.yl, now.ys) * STEPS);
    return `${path}L${end.toFixed(1)} ${foot.toFixed(1)}L${first.toFixed(1)} ${foot.toFixed(1)}Z`;
  }

  // What each curve in grey is, beside it where least of the others is in the way. The words stay
  // where they are while the hand moves.
  nameGreys(plot, held, units) {
    const key = plot && [this.drawn, held.at, held.p.indexOf(plot)].join();
    if (key === this.greyed) return;
    this.greyed = key;
    this.greys.replaceChildren();
    this.taken = [];
    if (!plot) return;
    const curves = this.inPixels(held.of, plot), named = new Set();
    for (const { label, spots } of curves) {
      if (!label || named.has(label)) continue;
      named.add(label);
      const words = units.words(label), wide = wideOf(words) + 6, near = [];
      for (let n = 1; n < 24; n++) {
        const x = this.left + n / 24 * this.across, on = heightAt(spots, x);
        if (on !== null) for (const left of [x + 4, x - wide]) for (const y of [on - 6, on + 15]) near.push([left, y]);
      }
      const inside = near.filter(([left, y]) => left >= this.left && left + wide <= this.left + this.across && y >= this.top + 10 && y <= this.top + this.high - 3);
      this.write(this.greys, inside, words, "held", this.taken, curves);
    }
  }

  // The curves of a plot in px, each with its label.
  inPixels(of, plot) {
    const [px, py] = this.places(of.frames[plot.f]);
    return plot.l.map(([look, curve]) => {
      const [xs, ys] = coordinates(of, curve), spots = [];
      for (let i = 0; i < xs.length; i++) spots.push(ys[i] === GAP ? null : [px(xs[i]), py(ys[i])]);
      return { label: of.looks[look][3], spots };
    });
  }

  // Words at that of the places where they meet least: other words, curves, and lines across the plot.
  write(group, places, words, role, taken, curves, uprights = [], level = []) {
    const wide = wideOf(words) + 6;
    let best = null, least = Infinity;
    for (const [x, y] of places) {
      let met = uprights.filter((at) => at > x + 1 && at < x + wide - 4).length + level.filter((at) => at > y - 10 && at < y + 2).length;
      for (const [a, b, w] of taken) if (x < a + w && a < x + wide && Math.abs(y - b) < 14) met += 99;
      for (const { spots } of curves) if (met < least) met += crossed(spots, x, y, wide - 6);
      if (met < least) [best, least] = [[x, y], met];
      if (!least) break;
    }
    if (!best) return;
    taken.push([...best, wide]);
    svg(group, "text", { x: best[0], y: best[1], class: `name ${role}` }, words);
  }

  // Lines across the plot with their names, clear of each other and, where there is room, of curves.
  marks(plot, frame, units, of) {
    this.rules.replaceChildren();
    this.names.replaceChildren();
    const taken = [...this.taken], curves = this.inPixels(of, plot), named = [];
    for (const [value, label, role, axis] of plot.m) {
      const upright = axis === "x";
      const share = upright ? shareOf(value, frame.xl, frame.xs) : shareOf(value, frame.yl, frame.ys);
      if (!(share >= -1e-9 && share <= 1 + 1e-9)) continue;
      const at = upright ? this.x(share * STEPS) : this.y(share * STEPS);
      const ends = upright ? { x1: at, x2: at, y1: this.top, y2: this.top + this.high } : { x1: this.left, x2: this.left + this.across, y1: at, y2: at };
      svg(this.rules, "line", { ...ends, class: `rule ${role}` });
      named.push([at, units.words(label), role, upright]);
    }
    const [uprights, level] = [true, false].map((way) => named.filter((each) => each[3] === way).map(([at]) => at)), low = this.top + this.high;
    for (const [at, words, role, upright] of named) {
      if (!words) continue;
      const wide = wideOf(words) + 6, places = [];
      const rows = [0, 1, 2, 3, 4].map((row) => this.top + 12 + 15 * row).concat(low - 5, low - 20);
      if (upright) for (const y of rows) for (const x of [at + 4, at - wide]) places.push([x, y]);
      else for (const x of [this.left + this.across - wide, this.left + 6, this.left + this.across / 2 - wide / 2]) for (const y of [at - 5, at + 14]) places.push([x, y]);
      const fits = places.filter(([x, y]) => x >= this.left - 2 && x + wide <= this.size[0] + 2 && y >= this.top + 6 && y <= low);
      this.write(this.names, fits.length ? fits : places.slice(0, 1), words, role, taken, curves, uprights, level);
    }
  }
}

// Where a curve of px is at `x`; null where it is not.
function heightAt(spots, x) {
  for (let i = 1; i < spots.length; i++) {
    const from = spots[i - 1], to = spots[i];
    if (from && to && (from[0] - x) * (to[0] - x) <= 0 && from[0] !== to[0]) return from[1] + (to[1] - from[1]) * (x - from[0]) / (to[0] - from[0]);
  }
  return null;
}

// At how many places of words that begin at (`x`, `y`) a curve runs through them.
function crossed(spots, x, y, wide) {
  let met = 0;
  for (let n = 0; n <= 6; n++) {
    const on = heightAt(spots, x + n / 6 * wide);
    if (on !== null && on > y - 12 && on < y + 4) met++;
  }
  return met;
}

const sameAxes = (one, other) => one.x === other.x && one.y === other.y && one.t.replace(/[\d.]+/g, "") === other.t.replace(/[\d.]+/g, "");

// Plot number `place` of the state `held`, if it is of the same quantities as that of this state.
function again({ of, p }, place, held) {
  const before = held && held.p[place];
  return before && sameAxes(held.of.frames[before.f], of.frames[p[place].f]) ? before : null;
}

// What the curves are: [role, build, kind, label], each label once.
function keyOf({ of, p }, ...places) {
  const found = new Map();
  for (const place of places) for (const line of p[place].l) {
    const look = of.looks[line[0]];
    if (look[3]) found.set(look[3], look);
  }
  return [...found.values()];
}
