// The controls of a stage: sliders with a box to type in, choices, and what each is called.

function make(parent, name, settings = {}, text) {
  const made = document.createElement(name);
  for (const key in settings) {
    if (key in made && key !== "list" && key !== "form") made[key] = settings[key];
    else made.setAttribute(key, settings[key]);
  }
  if (text !== undefined) made.textContent = text;
  if (parent) parent.append(made);
  return made;
}

// Names for things of the page: another panel in it may have a counter of its own.
const ours = Math.random().toString(36).slice(2);
let numbered = 0;
const newName = () => `boxlab-${ours}-${++numbered}`;

class Hand {
  // `moved(value)` is called while the hand moves.
  constructor(parent, control, moved) {
    this.control = control;
    this.moved = moved;
    this.id = newName();
    this.root = make(parent, control.o ? "fieldset" : "div", { className: "hand", title: control.help || "" });
    if (control.o) this.choice(); else this.slider();
    this.note = make(this.root, "p", { className: "near", id: `${this.id}-note` });
    for (const each of [this.box, this.range, this.pick]) if (each) each.setAttribute("aria-describedby", this.note.id);
  }

  choice() {
    const { control } = this, few = control.o.length <= 4 && control.o.join("").length <= 34;
    make(this.root, "legend", {}, control.l);
    if (!few) {
      this.pick = make(this.root, "select", { ariaLabel: control.l });
      for (const option of control.o) make(this.pick, "option", { value: option }, option);
      this.pick.addEventListener("change", () => this.moved(this.pick.value));
      return;
    }
    const row = make(this.root, "div", { className: "options" });
    this.radios = control.o.map((option) => {
      const label = make(row, "label");
      const radio = make(label, "input", { type: "radio", name: this.id, value: option });
      make(label, "span", {}, option);
      radio.addEventListener("change", () => this.moved(option));
      return radio;
    });
  }

  slider() {
    const { control } = this, top = make(this.root, "div", { className: "named" });
    make(top, "label", { htmlFor: this.id }, control.l);
    const typed = make(top, "span", { className: "typed" });
    this.box = make(typed, "input", { type: "text", autocomplete: "off" });
    this.unit = make(typed, "span", { className: "unit" });
    this.range = make(this.root, "input", { type: "range", id: this.id, min: control.lo, max: control.hi, step: control.step });
    this.range.addEventListener("input", () => this.moved(+this.range.value));
    this.box.addEventListener("change", () => this.read());
    this.box.addEventListener("focus", () => this.box.select());
  }

  // What was typed stays in its box until it can be used.
  read() {
    const { lo, hi } = this.control, value = this.units.typed(this.control, this.box.value);
    if (value >= lo - 1e-9 && value <= hi + 1e-9) return this.moved(Math.min(hi, Math.max(lo, value)), true);
    const [low, unit] = this.units.shown(this.control, lo), [high] = this.units.shown(this.control, hi);
    this.refuse(`${Number.isNaN(value) ? "A number" : "A value"} from ${low} to ${high} ${unit} fits here.`);
  }

  // What was typed is set: its box says it as all others do.
  took() {
    delete this.refused;
    this.box.value = this.units.shown(this.control, this.value)[0];
  }

  // Says why what was typed cannot be used, until another value is set.
  refuse(words) {
    this.refused = this.value;
    this.note.className = "near wrong";
    this.note.textContent = words;
    this.note.setAttribute("role", "alert");
    this.box.ariaInvalid = "true";
  }

  // `value` is what is asked for, `stored` what the picture shows.
  show(value, stored, units) {
    this.units = units;
    const { control } = this, waits = this.refused !== undefined && this.refused === value;
    this.value = value;
    if (!waits) delete this.refused;
    if (control.o) {
      if (this.pick) this.pick.value = value;
      else for (const radio of this.radios) radio.checked = radio.value === value;
    } else {
      const [words, unit] = units.shown(control, value);
      if (document.activeElement !== this.range) this.range.value = value;
      if (!waits && (document.activeElement !== this.box || units.typed(control, this.box.value) === value)) this.box.value = words;
      this.unit.textContent = unit;
      this.box.ariaLabel = `${control.l}, typed${unit && `, in ${unit === "in" ? "inches" : unit}`}`;
      if (!waits) this.box.ariaInvalid = null;
      this.range.setAttribute("aria-valuetext", `${words} ${unit}`.trim());
    }
    if (waits) return;
    this.note.removeAttribute("role");
    const near = stored !== value && units.reading(control, stored) !== units.reading(control, value);
    this.note.className = near && apart(control, value, stored) > STEP_AWAY ? "near wrong" : "near";
    this.note.textContent = near ? `shown: ${units.reading(control, stored)}` : "";
  }
}
