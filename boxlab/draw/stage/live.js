// A stage with a kernel behind it, which answers for any state. The page asks for the state that is
// set, one question at a time. When a hand comes to a control it asks for the states along it too,
// and then draws from those while the hand moves; the exact one is asked for when it rests.

const HOVER = 60; // ms that a hand stays with a control before the kernel runs ahead
const CALM = 90; // ms without a move before the exact state is asked for, if there are others near
const ENOUGH = 9; // states along a control from which a drag is drawn
const SILENCE = 2500; // ms without an answer before the page says so

const alike = (one, other) => one.every((v, k) => v === other[k] || Math.abs(v - other[k]) <= 1e-9 * Math.abs(v));

const bytesOf = (view) => view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength);

class LiveStage extends Stage {
  constructor(root, model) {
    super(root, { ...model.get("about"), states: [laidOut(bytesOf(model.get("now"))).states[0]] }, { model });
    this.listen(model, "change:now", () => this.answered());
    this.listen(model, "msg:custom", (told, buffers) => this.hear(told, buffers));
    this.all.forEach((hand, place) => {
      hand.read = () => this.typed(place, hand);
      hand.root.addEventListener("focusin", () => this.ahead(place));
      hand.root.addEventListener("pointerenter", () => {
        clearTimeout(this.hovers);
        this.hovers = setTimeout(() => this.ahead(place), HOVER);
      });
      hand.root.addEventListener("pointerleave", () => clearTimeout(this.hovers));
    });
    this.wanted = [...this.now.at];
    this.draw();
  }

  listen(model, event, act) {
    (this.ears ||= []).push([event, act]);
    model.on(event, act);
  }

  end() {
    for (const [event, act] of this.ears) this.options.model.off(event, act);
    clearTimeout(this.waits);
    removeEventListener(UNITS, this.switched);
  }

  get model() { return this.options.model; }

  get now() { return this.table.states[0]; }

  // What the kernel has last; else the nearest of the states along the control that moves.
  find() {
    const { now, line, wanted } = this;
    if (alike(now.at, wanted) || !this.onLine(wanted)) return now;
    const control = this.table.controls[line.place];
    const from = [...line.states, ...(this.onLine(now.at) ? [now] : [])];
    if (!from.length) return now;
    const away = (state) => apart(control, state.at[line.place], wanted[line.place]);
    return from.reduce((best, each) => (away(each) < away(best) ? each : best));
  }

  onLine(values) {
    const { line } = this;
    return line && values.every((v, k) => k === line.place || v === line.at[k]);
  }

  // The picture follows by itself; only where the kernel does not answer it says what it shows.
  instead(state) {
    return this.silent ? super.instead(state) : null;
  }

  excuse({ asked }) {
    return `The kernel has not answered for ${asked}. It is busy, or it has stopped: then run this cell again.`;
  }

  shownFor(place, state) {
    return this.silent ? state.at[place] : this.wanted[place];
  }

  move(place, value) {
    super.move(place, value);
    this.ahead(place);
    this.holdOn();
    const { line } = this;
    if (line.states.length >= Math.min(ENOUGH, line.most)) this.calm = setTimeout(() => this.ask(), CALM);
    else this.ask();
  }

  take(values) {
    super.take(values);
    this.ask();
  }

  // One question at a time; what is set by the time of its answer is asked for then.
  ask() {
    this.holdOn();
    if (this.asking || alike(this.now.at, this.wanted)) return;
    this.asking = true;
    this.model.send({ ask: [...this.wanted] });
    clearTimeout(this.waits);
    this.waits = setTimeout(() => { this.asking = false; this.silent = true; this.draw(); }, SILENCE);
  }

  holdOn() {
    clearTimeout(this.calm);
    this.calm = 0;
  }

  answered() {
    const [state] = laidOut(bytesOf(this.model.get("now"))).states;
    this.table.states = [state];
    this.room ||= CutawayView.room([state]);
    clearTimeout(this.waits);
    this.asking = this.silent = false;
    if (state.set) this.wanted = [...state.at]; // the kernel, or a cell, has moved the hands
    this.draw();
    if (!this.calm) this.ask();
  }

  rest() {
    super.rest();
    if (this.shares.open && this.sharedFor !== this.now) this.askShare();
  }

  ahead(place) {
    if (this.line && this.line.place === place && this.onLine(this.wanted)) return;
    this.line = { place, at: [...this.wanted], states: [], most: (this.table.controls[place].o || { length: ENOUGH }).length, id: ++numbered };
    this.model.send({ ahead: this.line.id, place, values: this.line.at });
  }

  async hear(told, buffers) {
    if (told.ahead) {
      const found = laidOut(await inflated(buffers[0]));
      if (this.line && told.ahead === this.line.id) {
        this.line.states.push(...found.states);
      }
    } else if (told.typed !== undefined) {
      const hand = this.all[told.typed];
      if (told.wrong) hand.refuse(this.units.words(told.wrong));
      else hand.took();
    } else if (told.pasted !== undefined) {
      this.trouble.textContent = told.pasted;
    } else if (told.share) this.fill(told, buffers);
  }

  // The kernel reads what is typed, in any unit. A bare number means the unit beside the box.
  typed(place, hand) {
    this.holdOn(); // what is typed now counts, not what was on its way
    const text = hand.box.value, [, unit] = this.units.shown(hand.control, this.wanted[place]);
    const bare = /^[-−–]?[\d.,\s/⁄]*$/.test(text) && text.trim();
    this.model.send({ typed: place, text: bare && unit !== hand.control.u ? `${text} ${unit}` : text });
  }

  // The texts come from the kernel, which words them for pages that cannot ask.
  folds() {
    super.folds();
    for (const area of this.texts) area.parentNode.remove();
    this.texts = make(this.shares, "div");
    this.saves = make(this.shares, "p");
    const field = (words, placeholder, act) => {
      const box = make(make(this.shares, "label", {}, words), "input", { type: "text", placeholder, autocomplete: "off" });
      box.addEventListener("change", () => act(box.value));
      return box;
    };
    this.pages = field("web pages are at", "https://… where these lessons are published, for full links", () => this.askShare());
    this.pasted = field("settings line", "paste one here to set the controls from it", (text) => this.model.send({ paste: text }));
    this.trouble = make(this.shares, "p", { className: "near wrong", role: "alert" });
  }

  share() {
    if (!this.sharedFor || this.sharedIn !== this.units.inch) this.askShare();
  }

  askShare() {
    this.sharedFor = this.now;
    this.sharedIn = this.units.inch;
    this.model.send({ share: this.pages.value, inch: this.units.inch });
  }

  fill({ share, files, wrong, pages }, buffers) {
    if (pages !== undefined && !this.pages.value) this.pages.value = pages;
    this.trouble.textContent = wrong || "";
    this.texts.replaceChildren(...share.map(([words, text]) => {
      const label = make(null, "label", {}, words);
      const area = make(label, "textarea", { readOnly: true, rows: Math.min(9, text.split("\n").length + Math.floor(text.length / 95)) });
      area.value = text;
      area.addEventListener("focus", () => area.select());
      return label;
    }));
    for (const link of this.saves.querySelectorAll("a")) URL.revokeObjectURL(link.href);
    this.saves.replaceChildren(...files.map(([download, type, words], place) =>
      make(null, "a", { download, href: URL.createObjectURL(new Blob([buffers[place]], { type })) }, words)));
  }
}

// How JupyterLab shows it: in the theme of the page, and with the arrow keys left to the controls.
function render({ model, el }) {
  const root = make(el, "div", { role: "group", ariaLabel: model.get("about").q });
  const stage = new LiveStage(root, model);
  const dark = () => {
    const light = document.body.dataset.jpThemeLight;
    root.classList.toggle("theme-dark", light === "false");
    root.classList.toggle("theme-light", light === "true");
  };
  dark();
  const theme = new MutationObserver(dark);
  theme.observe(document.body, { attributes: true, attributeFilter: ["data-jp-theme-light"] });
  root.addEventListener("keydown", (event) => {
    const forPage = event.ctrlKey || event.metaKey || event.altKey || (event.key === "Enter" && event.shiftKey);
    if (event.target.matches("input, select, textarea") && !forPage) event.stopPropagation();
  });
  return () => { theme.disconnect(); stage.end(); };
}
