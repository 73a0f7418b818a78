// The stage: one question with its controls, its message, one plot and the thing itself.

const STEP_AWAY = 0.045; // of a control's range: farther than this it is said that another state is shown
const REST = 500; // ms without a move before the message is spoken and the address written
const UNITS = "boxlab-units"; // what is kept, and the event that tells every panel of the page

function remembered() {
  try { return localStorage.getItem(UNITS) === "inch"; } catch { return false; }
}

function unitsForAll(inch) {
  try { localStorage.setItem(UNITS, inch ? "inch" : "metric"); } catch { /* a page from a file */ }
  dispatchEvent(new CustomEvent(UNITS, { detail: inch }));
}

class Stage {
  // `options`: address (this page's address carries the state), begin (settings, as in an address).
  constructor(root, table, options = {}) {
    Object.assign(this, { root, table, options, plot: 0, held: null, moved: -1 });
    this.start = table.controls.map((control) => control.st);
    this.wanted = [...this.start];
    this.units = new Units(table.units, remembered());
    this.room = CutawayView.room(table.states);
    root.stage = this;
    root.classList.add("boxlab-stage");
    const focused = root.contains(document.activeElement); // in the still picture, which goes
    root.replaceChildren();
    this.narrow(); // before anything can be seen or have the focus
    this.build();
    this.switched = ({ detail }) => this.setUnits(detail);
    addEventListener(UNITS, this.switched);
    this.start = this.read(options.begin || "");
    this.wanted = [...this.start];
    if (options.address) {
      this.wanted = this.read(location.hash.slice(1));
      addEventListener("hashchange", () => this.take(this.read(location.hash.slice(1))));
    }
    const sizes = new ResizeObserver(() => this.fit());
    for (const each of [root, this.figure]) sizes.observe(each);
    this.draw();
    if (focused) [...root.querySelectorAll("button, select, input")].find((each) => each.offsetParent)?.focus();
  }

  narrow() {
    if (this.root.clientWidth) this.root.classList.toggle("narrow", this.root.clientWidth < 690);
  }

  build() {
    const sight = make(this.root, "div", { className: "sight" });
    make(sight, "p", { className: "ask" }, this.table.q);
    this.message = make(sight, "h2", { className: "message" });
    this.note = make(sight, "p", { className: "held-instead" });
    this.tabs = make(sight, "div", { className: "tabs", role: "group", ariaLabel: "which plot" });
    this.pick = make(sight, "select", { className: "pick", ariaLabel: "which plot" }); // where tabs find no room
    this.pick.addEventListener("change", () => { this.plot = this.pick.selectedIndex; this.draw(); });
    this.key = make(sight, "ul", { className: "key", ariaLabel: "what the curves are" });
    this.figure = make(sight, "div", { className: "figure" });
    this.view = new PlotView(this.figure);
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (this.room) this.cut = new CutawayView(this.figure, calm);
    this.hands(calm);
    this.told = make(this.root, "div", { className: "told" });
    this.words = make(this.told, "div");
    this.live = make(this.told, "p", { className: "unseen", role: "status" });
    this.folds();
  }

  hands(calm) {
    const panel = make(this.root, "div", { className: "hands" });
    const more = this.table.controls.some((control) => control.more) && make(null, "details");
    if (more) make(more, "summary", {}, "more controls");
    this.all = this.table.controls.map((control, place) =>
      new Hand(control.more ? more : panel, control, (value, exact) => this.move(place, value, exact)));
    if (more) panel.append(more);
    const row = make(panel, "div", { className: "buttons" });
    const button = (parent, words, act, title = "") => {
      const made = make(parent, "button", { type: "button", title }, words);
      made.addEventListener("click", () => act(made));
      return made;
    };
    this.holds = button(row, "hold", () => this.hold(), "keep these curves in grey to compare");
    button(row, "reset", () => this.take(this.start), "back to the starting settings");
    this.switch = button(row, "", () => unitsForAll(!this.units.inch), "change the units");
    if (this.cut) button(row, calm ? "play" : "pause", (made) => {
      this.cut.pause(made.textContent === "pause");
      made.textContent = made.textContent === "pause" ? "play" : "pause";
    }, "the slow motion");
    const presets = Object.entries(this.table.presets);
    if (presets.length) {
      const list = make(panel, "p", { className: "presets" }, "start from: ");
      this.presets = presets.map(([name, values]) => [button(list, "", () => this.take(values)), name]);
    }
    this.inWords();
  }

  // Words that stand still but for the units.
  inWords() {
    this.switch.textContent = this.units.inch ? "metric" : "inch";
    for (const [made, name] of this.presets || []) made.textContent = this.units.words(name);
  }

  folds() {
    const fold = (words) => {
      const made = make(this.told, "details");
      make(made, "summary", {}, words);
      made.addEventListener("toggle", () => this.draw());
      return made;
    };
    this.numbers = fold("numbers");
    this.grid = make(this.numbers, "table");
    this.about = fold("about this picture");
    this.caption = make(this.about, "p");
    this.alt = make(this.about, "p");
    this.shares = fold("share");
    this.texts = ["Link", "In words", "Settings line", "Python for the numbers"].map((words) => {
      const label = make(this.shares, "label", {}, words);
      const area = make(label, "textarea", { readOnly: true, rows: words === "In words" ? 4 : 2 });
      area.addEventListener("focus", () => area.select());
      return area;
    });
  }

  move(place, value, exact) {
    this.guess(place, value);
    this.wanted[place] = value;
    this.moved = place;
    if (exact) this.all[place].box.blur();
    if (!this.due) this.due = requestAnimationFrame(() => { this.due = 0; this.draw(); });
  }

  // A guess is one of the options after the one that hides the answer. It counts if it was made
  // while that was hidden, and holds for its state alone: another control takes it back.
  guess(place, value) {
    this.table.controls.forEach((control, k) => {
      if (!control.ask) return;
      const open = (option) => control.o.indexOf(option) > control.o.indexOf(control.ask);
      if (k === place) this.guessed = this.wanted[k] === control.ask && open(value) ? [k, value] : null;
      else if (open(this.wanted[k])) this.wanted[k] = control.ask;
    });
  }

  count(state) {
    if (!this.guessed || !("ok" in state) || state.at[this.guessed[0]] !== this.guessed[1]) return;
    this.guessed = null;
    const { right, all, row } = this.score || { right: 0, all: 0, row: 0 };
    this.score = { right: right + state.ok, all: all + 1, row: state.ok ? row + 1 : 0 };
  }

  take(values) {
    this.wanted = [...values];
    this.guessed = null;
    this.moved = -1;
    this.draw();
  }

  hold() {
    this.held = this.held ? null : { state: this.state, at: [...this.state.at] };
    this.holds.textContent = this.held ? "release" : "hold";
    this.draw();
  }

  setUnits(inch) {
    this.units = new Units(this.table.units, inch);
    this.inWords();
    this.draw();
  }

  fit() {
    this.narrow();
    const width = this.figure.clientWidth;
    if (width && width !== this.width) { this.width = width; this.draw(); }
  }

  // The state to show for what is set.
  find() {
    return this.table.states[nearest(this.table, this.wanted, this.moved)];
  }

  shownFor(place, state) {
    return state.at[place];
  }

  draw() {
    const state = this.find();
    this.all.forEach((hand, place) => hand.show(this.wanted[place], this.shownFor(place, state), this.units));
    const instead = this.instead(state);
    this.root.classList.toggle("refused", Boolean(state.no));
    this.root.classList.toggle("instead", Boolean(instead));
    this.note.textContent = instead && this.excuse(instead);
    if (state.no) this.say((instead ? `With ${instead.shown}: ` : "") + this.units.words(state.no));
    else this.picture(this.state = state, instead ? `With ${instead.shown}: ` : "");
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.rest(), REST);
  }

  // What is shown in place of what is set, in words, where that is more than a step away.
  instead(state) {
    const { controls } = this.table;
    const off = controls.map((c, k) => k).filter((k) => apart(controls[k], this.wanted[k], state.at[k]) > STEP_AWAY);
    if (!off.length) return null;
    const named = (values) => off.map((k) => `${controls[k].l.toLowerCase()} ${this.units.reading(controls[k], values[k])}`).join(", ");
    return { shown: named(state.at), asked: `${named(this.wanted)} with the other settings` };
  }

  excuse({ asked }) {
    return `This page does not hold ${asked}. It shows the nearest that it holds.`;
  }

  // A number stays on one line with its unit.
  say(words) {
    if (this.message.textContent === words) return;
    const parts = words.split(/([^\s(]*\d[^\s]* (?:%|°C|°F|[A-Za-zΩ²³/]{1,4})(?![A-Za-z]))/);
    this.message.replaceChildren(...parts.map((part, n) => n % 2 ? make(null, "span", { className: "whole" }, part) : part));
  }

  picture(state, begins) {
    const { units } = this;
    this.say(begins + units.words(state.h));
    this.plot = Math.min(this.plot, state.p.length - 1);
    this.choose(state);
    const width = Math.max(220, this.width || this.figure.clientWidth || 640), narrow = width < 560;
    const both = this.cut && state.cut, beside = both && !narrow;
    const high = !narrow ? 306 : this.cut ? 200 : 260, room = beside ? width * 0.62 : width, seen = this.places(state);
    const wide = seen.map((place) => seen.length < 2 ? 1 : this.widths(state, place));
    this.figure.classList.toggle("beside", Boolean(beside || seen.length > 1));
    if (seen.length > 1) this.view.root.after((this.second ||= new PlotView(this.figure)).root);
    else if (this.second) this.second.root.remove();
    [this.view, this.second].slice(0, seen.length).forEach((view, n) => {
      const across = Math.round((room - 14 * (seen.length - 1)) * wide[n] / wide.reduce((a, b) => a + b));
      view.show(state, seen[n], units, across, high, this.held && this.held.state);
      view.root.setAttribute("aria-label", [units.words(state.alt), this.grey(state, seen[n])].join(" ").trim());
      view.root.style.width = `${across}px`;
      view.root.style.height = `${high}px`;
    });
    const across = room;
    if (this.cut) {
      const size = beside ? [width - across - 14, high] : [width, state.cut && state.cut.nm ? 156 : 132];
      this.cut.root.style.display = both ? "" : "none";
      this.cut.root.style.width = `${size[0]}px`;
      this.cut.root.style.height = `${size[1]}px`;
      if (both) this.cut.show(state, units, ...size, this.room);
    }
    this.count(state);
    this.tell(state);
  }

  // Two drawings to scale belong together, where one of them is the plot in sight; else that alone.
  together(state) {
    const scaled = state.p.map((plot, k) => k).filter((k) => state.of.frames[state.p[k].f].eq);
    return scaled.includes(this.plot) && scaled.length === 2 && !state.cut ? scaled : [this.plot];
  }

  // The plots in sight: one, or two that fit beside each other.
  places(state) {
    return this.width < 690 ? [this.plot] : this.together(state);
  }

  widths(state, place) {
    const { xl, yl } = state.of.frames[state.p[place].f];
    return (xl[1] - xl[0]) / (yl[1] - yl[0]);
  }

  choose(state) {
    const titles = state.p.map((plot) => this.units.words(state.of.frames[plot.f].t));
    const seen = this.places(state), now = titles.join("|") + seen;
    if (this.shown !== now) {
      this.shown = now;
      while (this.tabs.childNodes.length > titles.length) this.tabs.lastChild.remove();
      titles.forEach((title, place) => {
        const tab = this.tabs.childNodes[place] || make(this.tabs, "button", { type: "button" });
        tab.onclick = () => { this.plot = place; this.draw(); };
        tab.textContent = title;
        tab.setAttribute("aria-pressed", seen.includes(place));
      });
      this.pick.replaceChildren(...titles.map((title) => make(null, "option", {}, title)));
      this.pick.selectedIndex = this.plot;
      this.pick.hidden = titles.length < 2;
    }
    const key = keyOf(state, ...this.together(state)); // one of two may leave the names to the other
    if (seen.some((place) => this.grey(state, place))) key.push(["ghost", "", "line", "held"]);
    const names = JSON.stringify(key) + this.units.inch;
    if (this.keyed === names) return;
    this.keyed = names;
    this.key.replaceChildren(...key.map(([role, build, kind, label]) => {
      const item = make(null, "li");
      const sample = svg(item, "svg", { viewBox: "0 0 30 10", "aria-hidden": "true" });
      if (kind === "points" || kind === "dots") svg(sample, "circle", { cx: 15, cy: 5, r: 3.4, class: `solid ${role}` });
      else svg(sample, "path", { d: kind === "fill" ? "M1 1H29V9H1Z" : "M1 5H29", class: `${kind} ${role}`, "stroke-dasharray": DASHES[build], "stroke-width": 2.4 });
      make(item, "span", {}, this.units.words(label));
      return item;
    }));
  }

  tell(state) {
    const { units } = this;
    const said = [], { score } = this;
    // What can hurt comes first, then what can mislead: nobody scrolls to it further down.
    for (const words of state.c || []) said.push(["careful", `Caution: ${words}`]);
    for (const words of state.w || []) said.push(["careful", `Careful: ${words}`]);
    for (const words of state.r) said.push(["", words]);
    if (score) said.push(["", `Your predictions: ${score.right} of ${score.all} right, ${score.row} in a row.`]);
    for (const line of state.p[this.plot].l) if (line[2]) said.push(["", `${state.of.sizes[line[1]]} of ${line[2]} dots are drawn.`]);
    const grey = this.grey(state, this.plot);
    if (grey) said.push(["", grey]);
    const all = said.map(([kind, words]) => kind + units.words(words)).join("\n");
    if (all !== this.toldNow) {
      this.toldNow = all;
      this.words.replaceChildren(...said.map(([kind, words]) => make(null, "p", { className: kind }, units.words(words))));
    }
    if (this.numbers.open) {
      const rows = (list) => list.map(([name, metric, inch]) => [name, units.inch && inch ? inch : units.words(metric)]);
      const before = this.held ? new Map(rows(this.held.state.n)) : null;
      this.grid.replaceChildren(...rows(state.n).map(([name, value]) => {
        const row = make(null, "tr");
        make(row, "th", { scope: "row" }, name);
        make(row, "td", {}, value);
        if (before) make(row, "td", { className: "held" }, before.get(name) || "");
        return row;
      }));
    }
    if (this.about.open) {
      this.caption.textContent = units.words(state.cap);
      this.alt.textContent = `In words: ${units.words(state.alt)}`;
    }
    if (this.shares.open) this.share(state);
  }

  // What stands in grey in a plot, in words; "" where nothing does.
  grey(state, place) {
    const held = this.held && this.held.state;
    if (!again(state, place, held)) return "";
    const names = keyOf(held, place).map((look) => this.units.words(look[3])).join(", ");
    return `Grey: held at ${this.differs(this.held.at) || "the present settings"}${names && `: ${names}`}.`;
  }

  differs(other) {
    return this.table.controls
      .map((control, k) => other[k] !== this.wanted[k] && `${control.l.toLowerCase()} ${this.units.reading(control, other[k])}`)
      .filter(Boolean).join(", ");
  }

  // The address of what is shown.
  link() {
    const shown = this.state ? this.state.at : this.wanted;
    const moved = this.table.controls
      .map((control, k) => shown[k] !== this.start[k] && `${control.n}=${encodeURIComponent(shown[k])}`)
      .filter(Boolean).join("&");
    const page = this.options.page || (typeof location === "undefined" ? "" : location.href.split("#")[0]);
    return page + (moved ? `#${moved}` : "");
  }

  share(state) {
    const { table, units } = this;
    const settings = table.controls.map((control, k) => `${control.l.toLowerCase()} ${units.reading(control, state.at[k])}`).join("; ");
    const line = `${table.name}(${table.controls.map((control, k) => `${control.n}=${units.written(control, state.at[k])}`).join(", ")})`;
    const texts = [this.link(), `${table.q} ${units.words(state.h)} (${settings}.) ${table.gear || ""} ${this.link()}`.replace(/  +/g, " "), line, state.code];
    this.texts.forEach((area, place) => {
      area.value = texts[place];
      area.parentNode.hidden = !texts[place];
    });
  }

  rest() {
    if (this.live.textContent !== this.message.textContent) this.live.textContent = this.message.textContent;
    if (!this.options.address) return;
    const { hash } = new URL(this.link());
    if (hash !== location.hash) try { history.replaceState(null, "", hash || location.pathname + location.search); } catch { /* not here */ }
  }

  // A state as it stands in an address: volume=14&fb=45. What does not fit is left as it starts.
  read(text) {
    const told = new URLSearchParams(text);
    return this.table.controls.map((control, k) => {
      const value = told.get(control.n);
      if (value === null) return this.start[k];
      if (control.o) return control.o.includes(value) ? value : this.start[k];
      return value !== "" && +value >= control.lo && +value <= control.hi ? +value : this.start[k];
    });
  }
}

const given = new Map(), waited = new Map();

// A script beside the page hands a table over with this; a page from a folder can load no data else.
function give(name, text) {
  given.set(name, text);
  for (const go of waited.get(name) || []) go(text);
  waited.delete(name);
}

function fetched(name, from) {
  if (given.has(name)) return Promise.resolve(given.get(name));
  return new Promise((go, stop) => {
    const first = !waited.has(name);
    waited.set(name, [...(waited.get(name) || []), go]);
    if (!first) return;
    const loader = make(document.head, "script", { src: from });
    loader.addEventListener("error", () => stop(new Error(`${from} is not there`)));
  });
}

async function mount(root) {
  const holder = root.querySelector("script[type='text/boxlab-table']");
  try {
    const text = holder ? holder.textContent : await fetched(root.dataset.name, root.dataset.table);
    new Stage(root, await unpack(text), { address: root.dataset.stage === "address", begin: root.dataset.begin || "" });
  } catch (error) {
    console.error(error); // the still picture stays
  }
}

// Every place of a page where a question moves; those that are far off wait until they come near.
function mountAll() {
  const near = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) if (isIntersecting) { near.unobserve(target); mount(target); }
  }, { rootMargin: "600px" });
  for (const root of document.querySelectorAll("[data-stage]")) near.observe(root);
}
