"use strict";
(() => {
  const root = document.documentElement, byId = (name) => document.getElementById(name);
  const slides = [...document.querySelectorAll(".slide")];
  const counts = new Map(); // of hands, for each question and option
  let begun = Date.now();
  let at = 0, step = 0, desk = null;
  root.classList.add("live");
  document.querySelector(".bar").hidden = false;

  const steps = (slide) =>
    [...new Set([...slide.querySelectorAll("[data-step]")].map((part) => +part.dataset.step))]
      .sort((a, b) => a - b);

  // Long slides are set smaller until they fit; below two thirds they scroll instead.
  const fit = (slide) => {
    for (let size = 1; size > 0.66; size -= 0.04) {
      slide.style.setProperty("--fit", size);
      const text = slide.querySelector(".sides > div") ?? slide.querySelector(".paper");
      const room = text.parentElement.clientHeight;
      if (text.scrollHeight <= Math.max(room, 1) + 1 && slide.scrollHeight <= slide.clientHeight + 1) break;
    }
  };

  const clock = () => {
    const minutes = Math.floor((Date.now() - begun) / 60000);
    return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}`;
  };

  const tell = () => {
    if (!desk || desk.closed) return;
    const slide = slides[at], next = slides[at + 1], page = desk.document;
    page.getElementById("clock").textContent =
      `${clock()} since the start` + (slide.dataset.plan ? `, planned ${slide.dataset.plan}` : "");
    page.getElementById("where").textContent =
      `${at + 1} of ${slides.length}: ${slide.querySelector("h1, h2").textContent}`;
    page.getElementById("said").innerHTML =
      (slide.querySelector(".answer")?.outerHTML ?? "") + (slide.querySelector(".notes")?.innerHTML ?? "");
    page.getElementById("next").textContent =
      next ? `Next: ${next.querySelector("h1, h2").textContent}` : "Last slide.";
  };

  const show = () => {
    const slide = slides[at], order = steps(slide), told = step >= order.length;
    slides.forEach((other) => other.classList.toggle("now", other === slide));
    for (const part of slide.querySelectorAll("[data-step]")) {
      part.classList.toggle("later", order.indexOf(+part.dataset.step) >= step);
    }
    for (const option of slide.querySelectorAll(".right")) option.classList.toggle("told", told);
    slide.classList.toggle("answered", told);
    byId("panel").hidden = !slide.querySelector(".boxlab-stage, [data-stage]") || !document.querySelector("script[src]");
    raised(slide);
    fit(slide);
    seat();
    byId("place").textContent = `${at + 1} of ${slides.length}`;
    try { history.replaceState(null, "", `#${slide.id}`); } catch { /* not allowed in some viewers */ }
    tell();
  };

  const go = (to, from = 0) => {
    slides[at].classList.remove("zoomed", "panel");
    at = Math.min(Math.max(to, 0), slides.length - 1);
    step = from;
    show();
  };
  const on = () => {
    if (step < steps(slides[at]).length) { step += 1; show(); }
    else if (at + 1 < slides.length) go(at + 1);
  };
  const back = () => {
    if (step > 0) { step -= 1; show(); }
    else if (at > 0) go(at - 1, steps(slides[at - 1]).length);
  };

  const noted = () => {
    byId("notes").setAttribute("aria-pressed", root.classList.toggle("noted"));
    fit(slides[at]);
  };

  // A question may stand on two slides, asked on one and answered on the other: one count for both.
  const raised = (slide) => slide.querySelectorAll(".options li").forEach((option, place) => {
    let count = option.querySelector(".hands");
    if (!count) {
      count = document.createElement("span");
      count.className = "hands";
      option.append(count);
    }
    const total = counts.get(`${slide.dataset.ask} ${place + 1}`) ?? 0;
    count.textContent = total ? `${total} ${total === 1 ? "hand" : "hands"}` : "";
  });
  const hand = (number, more) => {
    const slide = slides[at], name = `${slide.dataset.ask} ${number}`;
    if (!slide.querySelectorAll(".options li")[number - 1]) return;
    counts.set(name, Math.max(0, (counts.get(name) ?? 0) + more));
    raised(slide);
  };

  const skip = () => { if (at + 1 < slides.length) go(at + 1); };
  const skipRow = () => {
    const next = slides.findIndex((slide, place) => place > at && slide.dataset.plan !== slides[at].dataset.plan);
    go(next < 0 ? slides.length - 1 : next);
  };
  const panel = () => {
    if (byId("panel").hidden) return;
    while (steps(slides[at]).indexOf(2) >= step) step += 1; // it shows what the picture shows
    byId("panel").setAttribute("aria-pressed", slides[at].classList.toggle("panel"));
    show();
  };
  // The stage is drawn for a page. Here it is as large as leaves all of the plot in sight; at 2.1 of a
  // screen 1080 high its smallest words are 24 pixels.
  const frames = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  let seating = 0;
  const seat = async () => {
    const turn = seating += 1, box = slides[at].querySelector(".moves"); // the last that is asked for counts
    for (let waits = 0; box && waits < 300 && turn === seating && !box.querySelector(".sight"); waits++) await frames();
    for (let size = 3; box && size > 1.4; size -= 0.15) {
      root.style.setProperty("--stage", Math.max(1, size * innerHeight / 1080));
      await frames();
      const sight = box.querySelector(".sight");
      if (turn !== seating || !sight) return;
      if (sight.getBoundingClientRect().bottom <= box.getBoundingClientRect().bottom + 1) return;
    }
  };

  const open = () => {
    desk = window.open("", "boxlab-notes", "width=640,height=560");
    if (!desk) { noted(); return; } // windows are blocked here: notes go under the slide
    desk.document.title = "Notes";
    desk.document.body.innerHTML = '<p id="clock"></p><h1 id="where"></h1><div id="said"></div><p id="next"></p>';
    desk.document.body.style.cssText = "font: 1.1rem/1.5 system-ui, sans-serif; margin: 1.2rem; color: #111; background: #fff";
    desk.addEventListener("keydown", key);
    tell();
  };

  const keys = {
    ArrowRight: on, PageDown: on, " ": on, Enter: on, ArrowDown: on,
    ArrowLeft: back, PageUp: back, ArrowUp: back, Backspace: back,
    Home: () => go(0), End: () => go(slides.length - 1),
    n: noted, s: open, x: skip, X: skipRow, p: panel,
    c: () => { begun = Date.now(); tell(); byId("place").textContent = "The clock starts anew."; },
    z: () => { if (slides[at].querySelector(".picture")) slides[at].classList.toggle("zoomed"); },
    b: () => root.classList.toggle("black"),
  };
  function key(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const digit = /^Digit([1-9])$/.exec(event.code);
    if (digit) { hand(+digit[1], event.shiftKey ? -1 : 1); return; }
    if (event.target.closest?.("input, select, textarea, summary")) {
      if (event.key === "Escape") event.target.blur();
      return;
    }
    const inside = event.target.closest?.("button, a");
    if (inside && (event.key === " " || event.key === "Enter")) return;
    const act = keys[event.key] ?? keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (act) { event.preventDefault(); act(); }
  }
  addEventListener("keydown", key);
  addEventListener("resize", () => { fit(slides[at]); seat(); });
  setInterval(tell, 10000);
  byId("on").addEventListener("click", on);
  byId("back").addEventListener("click", back);
  byId("panel").addEventListener("click", panel);
  byId("notes").addEventListener("click", noted);
  byId("desk").addEventListener("click", open);
  const linked = () => {
    const found = slides.findIndex((slide) => slide.id === decodeURIComponent(location.hash.slice(1)));
    go(found < 0 ? at : found);
  };
  addEventListener("hashchange", linked);
  linked();
})();
