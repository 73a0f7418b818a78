// The thing itself, cut open: outlines to scale, moving in slow motion as the model computed.

const CYCLE = 2400; // ms on screen for one cycle
const LARGER = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

class CutawayView {
  constructor(parent, still) {
    this.root = svg(parent, "svg", { role: "img", class: "cut" });
    this.still = still;
    this.times = 0;
    this.turn = 0;
    this.last = 0;
    this.seen = true;
    new IntersectionObserver(([entry]) => { this.seen = entry.isIntersecting; this.start(); }).observe(this.root);
  }

  // The room that all states together need, in mm, so that a larger box looks larger.
  static room(states) {
    const all = states.filter((state) => state.cut).map((state) => state.cut.v);
    return all.length && [Math.max(...all.map(([l, r]) => r - l)), Math.max(...all.map(([, , b, t]) => t - b))];
  }

  show(table, cut, units, width, height, room) {
    this.cut = cut;
    this.root.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.root.setAttribute("aria-label", units.words(cut.alt));
    const foot = 34;
    const scale = Math.min(width / room[0], (height - foot) / room[1]);
    const [left, right, bottom, top] = cut.v;
    const x0 = width / 2 - scale * (left + right) / 2, y0 = (height - foot) / 2 + scale * (bottom + top) / 2;
    this.scale = scale;
    while (this.root.childNodes.length > cut.s.length + 3) this.root.firstChild.remove();
    this.parts = cut.s.map((shape, place) => {
      const [role, filled, moves, count, shares] = shape;
      const [xs, ys] = coordinates(table.points, shape.from, count);
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
    this.choose();
    this.label(units, width, height, foot);
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

  label(units, width, height, foot) {
    while (this.words && this.words.length) this.words.pop().remove();
    const { sw, f } = this.cut;
    const mm = (v) => {
      const [other, factor] = units.pairs.mm;
      return units.inch ? `${+(v * factor).toPrecision(2)} ${other}` : `${+v.toPrecision(2)} mm`;
    };
    const said = sw.map(([name, dx, dy, phase], place) => `${name} ${mm(Math.hypot(dx, dy))}${place ? `, ${Math.abs(Math.round(phase))}° ${phase < 0 ? "behind" : "ahead"}` : ""}`);
    const how = sw.length ? `at ${plain(+f.toPrecision(3))} Hz, slow motion, travel drawn ${this.times === 1 ? "to scale" : `${this.times} times larger`}` : "";
    this.words = [said.join("; "), how].filter(Boolean).map((text, row) =>
      svg(this.root, "text", { x: width / 2, y: height - foot + 14 + 15 * row, "text-anchor": "middle", "data-words": 1 }, text));
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
      this.turn = (this.turn + (now - this.last) / CYCLE) % 1;
      this.last = now;
      this.draw(false);
      requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  }

  pause(still) {
    this.still = still;
    this.start();
  }
}
