// The thing itself, cut open: outlines to scale, moving in slow motion as the model computed.

const CYCLE = 2400; // ms on screen for one cycle
const FRAME = 30; // ms; a motion this slow looks as smooth in every second frame of a display
const BARS = { metric: [[1000, "1 m"], [100, "100 mm"], [10, "10 mm"], [1, "1 mm"]], inch: [[914.4, "3 ft"], [101.6, "4 in"], [12.7, "1/2 in"], [2.54, "0.1 in"]] };
const LARGER = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

class CutawayView {
  constructor(parent, still) {
    this.root = svg(parent, "svg", { role: "img", class: "cut" });
    this.still = still;
    this.times = 0;
    this.words = [];
    this.turn = 0;
    this.last = 0;
    this.seen = true;
    new IntersectionObserver(([entry]) => { this.seen = entry.isIntersecting; this.start(); }).observe(this.root);
  }

  // The room of the first state that has a cutaway, and a quarter more: a larger box looks larger.
  static room(states) {
    const first = states.find((state) => state.cut);
    const [left, right, bottom, top] = first ? first.cut.v : [];
    return first && [1.25 * (right - left), 1.25 * (top - bottom)];
  }

  show({ of, cut }, units, width, height, room) {
    this.cut = cut;
    this.root.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.root.setAttribute("aria-label", units.words(cut.alt));
    this.choose();
    const parts = this.parted(units), beside = Math.min(width / 2, width - 6 - Math.max(0, ...parts.map(wideOf)));
    const aside = parts.length && width > 2.2 * height && !cut.nm && beside > 0.3 * width; // the words stand beside it
    const part = aside ? beside : width, lines = this.lines(parts, aside ? width - part : width);
    const below = 24 + (aside ? 0 : 15 * lines.length);
    const [left, right, bottom, top] = cut.v;
    const sized = (foot) => Math.min(...[room, [right - left, top - bottom]].map(([wide, tall]) => Math.min(part / wide, (height - foot) / tall)));
    const names = this.names(cut, units, sized(below + 26)), row = 13 * names.rows, foot = below + row;
    const scale = sized(foot);
    const x0 = part / 2 - scale * (left + right) / 2, y0 = (height - foot) / 2 + scale * (bottom + top) / 2;
    this.scale = scale;
    while (this.root.childNodes.length > cut.s.length + this.words.length) this.root.firstChild.remove();
    this.parts = cut.s.map((shape, place) => {
      const [role, filled, moves, curve, shares] = shape;
      const [xs, ys] = coordinates(of, curve);
      let node = this.root.childNodes[place];
      const name = filled ? "polygon" : "polyline";
      if (!node || node.nodeName !== name || node.dataset.words) {
        const made = svg(null, name);
        if (node && !node.dataset.words) node.replaceWith(made); else this.root.insertBefore(made, node || null);
        node = made;
      }
      node.setAttribute("class", `${filled ? "solid" : "outline"} ${role}`);
      const points = Array.from(xs, (x, i) => [x0 + scale * x / 10, y0 - scale * ys[i] / 10, shares ? shares[i] : 1]);
      return { node, points, moves };
    });
    this.bar(units, part / 2, height - foot + row);
    const first = aside ? (height - 15 * lines.length) / 2 + 12 : height - below + 30;
    const at = aside ? { x: part, "text-anchor": "start" } : { x: width / 2, "text-anchor": "middle" };
    lines.forEach((words, place) => this.words.push(svg(this.root, "text", { ...at, y: first + 15 * place, "data-words": 1 }, words)));
    names.all.forEach(([x, words], place) => this.words.push(svg(this.root, "text", {
      x: x0 + scale * x, y: y0 - scale * bottom + 12 + 13 * (place % names.rows), "text-anchor": "middle", "data-words": 1 }, words)));
    this.draw(true);
    this.start();
  }

  // How many times larger than life the travel is drawn; it changes only when it must.
  choose() {
    const most = Math.max(0, ...this.cut.sw.map(([, dx, dy]) => Math.hypot(dx, dy)));
    const size = most * this.times;
    if (!this.times || size > 1.3 * this.cut.reach || size < this.cut.reach / 12)
      this.times = LARGER.filter((each) => each * most <= this.cut.reach).pop() || 1;
  }

  // What moves how far, part by part; of several boxes only how it is drawn.
  parted(units) {
    const { sw, f, u, nm } = this.cut, [other, factor] = units.pairs.mm;
    const mm = (v) => units.inch ? `${+(v * factor).toPrecision(2)} ${other}` : `${+v.toPrecision(2)} mm`;
    const parts = nm ? [] : [...new Set(sw.map(([name, dx, dy, phase]) =>
      `${name} ${mm(Math.hypot(dx, dy))}${phase ? `, ${Math.abs(Math.round(phase))}° ${phase < 0 ? "behind" : "ahead"}` : ""}`))];
    if (sw.length) parts.push(`at ${plain(+f.toPrecision(3))} Hz${u ? ` on ${plain(+u.toPrecision(3))} V` : ""}, in slow motion`, `travel ${this.times === 1 ? "to scale" : `drawn ${this.times} times larger`}`);
    return parts;
  }

  // The parts in as many lines as the width asks for.
  lines(parts, width) {
    const lines = [];
    for (const part of parts) {
      const last = lines[lines.length - 1];
      if (last && wideOf(`${last}; ${part}`) < width) lines[lines.length - 1] = `${last}; ${part}`;
      else lines.push(part);
    }
    return lines;
  }

  // What stands side by side and what each is called, in two rows where one is too short for all.
  names({ nm }, units, scale) {
    const all = (nm || []).map(([x, words]) => [x, units.words(words)]);
    const tight = all.some(([x, words], n) => n && (wideOf(words) + wideOf(all[n - 1][1])) / 2 + 6 > scale * (x - all[n - 1][0]));
    return { all, rows: all.length && (tight ? 2 : 1) };
  }

  // A bar of a known length, its middle at `x`.
  bar(units, x, foot) {
    while (this.words.length) this.words.pop().remove();
    if (this.cut.plan) return;
    const [size, words] = (units.inch ? BARS.inch : BARS.metric).find(([each]) => each < 0.8 * (this.cut.v[1] - this.cut.v[0])), half = this.scale * size / 2;
    const bar = svg(this.root, "path", { class: "bar", "data-words": 1, d: `M${x - half} ${foot + 6}h${2 * half}m0 -3v6m${-2 * half} 0v-6` });
    const beside = x + half + 6 + wideOf(words) < 2 * x;
    this.words.push(bar, svg(this.root, "text", { x: beside ? x + half + 6 : x, y: foot + (beside ? 10 : -1), "text-anchor": beside ? "start" : "middle", "data-words": 1 }, words));
  }

  draw(all) {
    const { sw } = this.cut, angle = 2 * Math.PI * this.turn;
    const at = sw.map(([, dx, dy, phase]) => {
      const wave = this.times * this.scale * Math.cos(angle + phase * Math.PI / 180);
      return [dx * wave, -dy * wave];
    });
    for (const { node, points, moves } of this.parts) {
      if (moves < 0 && !all) continue;
      const [mx, my] = at[moves] || [0, 0];
      node.setAttribute("points", points.map(([x, y, s]) => `${(x + s * mx).toFixed(1)},${(y + s * my).toFixed(1)}`).join(" "));
    }
  }

  start() {
    if (this.running || this.still || !this.seen || !this.cut || !this.cut.sw.length) return;
    this.running = true;
    this.last = performance.now();
    const tick = (now) => {
      if (!(this.running = !this.still && this.seen && this.root.isConnected && this.cut && this.cut.sw.length > 0)) return;
      requestAnimationFrame(tick);
      if (now - this.last < FRAME) return;
      this.turn = (this.turn + (now - this.last) / CYCLE) % 1;
      this.last = now;
      this.draw(false);
    };
    requestAnimationFrame(tick);
  }

  pause(still) {
    this.still = still;
    this.start();
  }
}
