// All of a panel's times, taken in the page: told of each move, the test driver would take the time.
async (moves) => {
  const root = document.querySelector(".boxlab-stage"), { stage } = root;
  const slider = root.querySelector("input[type=range]");
  const place = stage.all.findIndex((hand) => hand.range === slider);
  const pause = (ms) => new Promise((go) => setTimeout(go, ms));
  const frame = () => new Promise(requestAnimationFrame).then(() => pause(0));
  const set = (value) => { slider.value = value; slider.dispatchEvent(new Event("input")); };
  const until = async (ready) => {
    const end = performance.now() + 10000;
    while (!ready() && performance.now() < end) await frame();
    return performance.now();
  };
  const exact = () => stage.state === stage.now && stage.now.at[place] === stage.wanted[place];
  const [low, high, step] = [+slider.min, +slider.max, +slider.step], middle = +slider.value;

  // Single moves, with nothing sent ahead.
  const { ahead } = stage, single = [], from = window.received;
  stage.ahead = function (at) { this.line = { place: at, at: [...this.wanted], states: [], most: 9 }; };
  for (let i = 1; i <= moves; i++) {
    const began = performance.now();
    set(middle + (middle + moves * step <= high ? 1 : -1) * i * step);
    single.push(await until(exact) - began);
    await pause(100);
  }
  const each = (window.received - from) / moves;

  // The hand comes to the slider.
  stage.ahead = ahead;
  stage.line = null;
  const before = window.received, came = performance.now();
  slider.focus();
  stage.ahead(place);
  const most = Math.min(9, Math.round((high - low) / step) + 1);  // a short choice has fewer states
  const first = await until(() => stage.line.states.length >= most) - came;
  let count = -1;
  while (count !== stage.line.states.length) {
    count = stage.line.states.length;
    await pause(600);
  }
  const sent = window.received - before;

  // A drag, a move for each frame of the display.
  const late = [], shown = new Set();
  for (let i = 0; i < 60; i++) {
    const began = performance.now();
    set(low + (high - low) * (0.3 + 0.2 * Math.sin(i / 7)));
    await frame();
    late.push(performance.now() - began);
    shown.add(stage.state.at[place]);
  }
  const last = performance.now();
  return { single, each, first, sent, count, late, shown: shown.size, exact: await until(exact) - last };
}
