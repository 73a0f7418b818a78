// Reading a table of states, units and numbers for people. Nothing here touches the page.

const STEPS = 4000, GAP = -32768;

const unpack = async (text) => laidOut(await inflated(Uint8Array.from(atob(text.trim()), (c) => c.charCodeAt(0))));

const inflated = (bytes) =>
  new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"))).arrayBuffer();

// Length of the words, words, points. Each state knows the table whose frames and curves it means.
function laidOut(whole) {
  const size = new DataView(whole).getUint32(0, true);
  const table = JSON.parse(new TextDecoder().decode(new Uint8Array(whole, 4, size)));
  let from = 0; // where each curve begins in the row of points
  table.starts = table.sizes.map((size) => (from += 2 * size) - 2 * size);
  table.points = new Int16Array(whole, 4 + size);
  for (const frame of table.frames) frame.key = JSON.stringify(frame);
  for (const state of table.states) state.of = table;
  return table;
}

// The points of a curve as two arrays of whole numbers.
function coordinates({ points, starts, sizes }, curve) {
  const from = starts[curve], count = sizes[curve], x = new Int16Array(count), y = new Int16Array(count);
  for (let i = 0, a = 0, b = 0; i < count; i++) {
    x[i] = a = (a + points[from + i]) << 16 >> 16;
    y[i] = b = (b + points[from + count + i]) << 16 >> 16;
  }
  return [x, y];
}

const shareOf = (value, [low, high], scale) =>
  scale === "log" ? Math.log(value / low) / Math.log(high / low) : (value - low) / (high - low);
const valueAt = (share, [low, high], scale) =>
  scale === "log" ? low * (high / low) ** share : low + share * (high - low);

// Units. `pairs` is the library's own: metric unit -> [other, factor, zero].
class Units {
  constructor(pairs, inch) {
    this.pairs = pairs;
    this.inch = inch;
    const names = Object.keys(pairs).sort((a, b) => b.length - a.length).map((n) => n.replace(/[.*+?^${}()|[\]\\/]/g, "\\$&"));
    const others = [...new Set(Object.values(pairs).map((pair) => pair[0].replace("/", "\\/")).concat("in³"))].sort((a, b) => b.length - a.length);
    const row = "[−-]?\\d[\\d.\u202f ]*(?:(?: to | and | or |, |–| × | ± )[−-]?\\d[\\d.\u202f]*)*";
    this.twice = new RegExp(`(${row})[ \u00a0](${names.join("|")}) \\((${row})[ \u00a0](${others.join("|")})\\)`, "g");
    this.ending = new RegExp(`(, )(${names.join("|")})(?=$| peak| of | \\(|;)`);
  }

  // A sentence that holds both units, in the one that is wanted.
  words(text) {
    return text.replace(this.twice, this.inch ? "$3 $4" : "$1 $2");
  }

  // The label of an axis, and what its numbers are multiplied by and added to.
  axis(label) {
    const found = this.inch && label.match(this.ending);
    if (!found) return [label, 1, 0];
    const [other, factor, zero] = this.pairs[found[2]];
    return [label.replace(this.ending, `$1${other}`), factor, zero];
  }

  // A slider's value as it is shown: [number, unit].
  shown(control, value) {
    if (this.inch && control.inch) {
      const [unit, factor, decimals] = control.inch;
      return [(value * factor).toFixed(decimals), unit];
    }
    if (this.inch && this.pairs[control.u]) {
      const [unit, factor, zero] = this.pairs[control.u];
      return [String(+(value * factor + zero).toPrecision(3)).replace("-", "−"), unit];
    }
    return [String(+value.toPrecision(6)).replace("-", "−"), control.u];
  }

  reading(control, value) {
    return control.o ? value : this.shown(control, value).join(" ").trim();
  }

  // A value as it stands in a settings line: a number in the control's own unit, or one with its unit.
  written(control, value) {
    if (!this.inch || !control.inch) return JSON.stringify(value);
    const [unit, factor] = control.inch;
    return `'${+(value * factor).toPrecision(6)} ${unit}'`;
  }

  // What was typed into a box, in the control's own unit; NaN if it is no number of ours.
  typed(control, text) {
    const found = whole(text.trim().replace(/[−–]/g, "-").replace(",", ".")).match(/^(-?\d*\.?\d+)\s*(.*)$/);
    if (!found) return NaN;
    const unit = found[2].toLowerCase().replace(/[\s.^]/g, "").replace(/3$/, "³").replace(/2$/, "²")
      .replace(/^(cubicfeet|cuft|cf)$/, "ft³").replace(/^(inches|inch|"|″)$/, "in").replace(/^(feet|'|′)$/, "ft");
    const own = control.u.toLowerCase(), pair = this.pairs[control.u];
    const [other, size] = control.inch || pair || [];
    if (unit === own || (!unit && !(this.inch && other))) return +found[1];
    if (control.inch && (unit === other || !unit)) return +found[1] / size;
    if (pair && !unit) return (+found[1] - pair[2]) / pair[1];
    for (const [metric, [name, factor, zero]] of Object.entries(this.pairs)) {
      if (metric === control.u && unit === name) return (+found[1] - zero) / factor;
    }
    return NaN;
  }
}

// "1 1/4 in" as "1.25 in".
const whole = (text) => text.replace("⁄", "/").replace(/^(-?)(?:(\d+)[ -])?(\d+)\/([1-9]\d*)/,
  (_, sign, ones, top, bottom) => `${sign}${+(ones || 0) + top / bottom}`);

const plain = (value) => String(+value.toPrecision(10)).replace("-", "−");

// Ticks as the static pictures have them: 1, 2, 5, 10 ... on a logarithmic axis, else even steps.
function ticks([low, high], scale) {
  const found = [];
  if (scale === "log") {
    const digits = high / low < 1000 ? [1, 2, 5] : [1];
    for (let power = Math.floor(Math.log10(low)); power <= Math.log10(high) + 1; power++)
      for (const digit of digits) found.push(digit * 10 ** power);
  } else {
    const rough = Math.abs(high - low) / 6, power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].find((each) => each * power >= rough * 0.999) * power;
    for (let n = Math.ceil(Math.min(low, high) / step - 1e-9); n * step <= Math.max(low, high) + 1e-9 * step; n++) found.push(n * step);
  }
  return found.filter((v) => v >= Math.min(low, high) * (1 - 1e-9) - 1e-12 && v <= Math.max(low, high) * (1 + 1e-9) + 1e-12);
}

// How far a value is from another along its control: 0 to 1.
function apart(control, one, other) {
  if (control.o) return one === other ? 0 : 1;
  if (one === other) return 0;
  if (control.lo > 0 && control.hi / control.lo > 8) return Math.abs(Math.log(one / other)) / Math.log(control.hi / control.lo);
  return Math.abs(one - other) / (control.hi - control.lo);
}

// The stored state next to the wanted one; the control moved last counts for more.
function nearest(table, wanted, moved) {
  let best = 0, least = Infinity;
  table.states.forEach((state, index) => {
    let away = 0;
    for (let k = 0; k < wanted.length && away < least; k++) {
      const far = apart(table.controls[k], state.at[k], wanted[k]);
      if (far > 1e-9) away += (0.02 + far) * (k === moved ? 3 : 1);
    }
    if (away < least) [best, least] = [index, away];
  });
  return best;
}
