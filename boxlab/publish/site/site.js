"use strict";
(() => {
  const byId = (name) => document.getElementById(name);
  const all = (what, inside = document) => [...inside.querySelectorAll(what)];
  const say = (words) => {
    byId("said").textContent = words;
    setTimeout(() => { byId("said").textContent = ""; }, 2500);
  };

  // A click on the mark beside a heading goes there and copies the link.
  for (const link of all("a.here")) {
    link.addEventListener("click", async () => {
      try {
        await navigator.clipboard.writeText(link.href);
        say("Link copied");
      } catch {
        say("The link is in the address bar");
      }
    });
  }

  // A link into a folded part opens it.
  const unfoldTarget = () => {
    let part = byId(decodeURIComponent(location.hash.slice(1)));
    for (; part; part = part.parentElement) if (part.tagName === "DETAILS") part.open = true;
  };
  addEventListener("hashchange", unfoldTarget);
  unfoldTarget();

  const unfold = byId("unfold");
  unfold.hidden = !all("main details").length;
  unfold.addEventListener("click", () => {
    for (const part of all("main details")) part.open = true;
  });

  // What is wider than the screen can be scrolled from the keyboard too.
  const reach = () => {
    for (const part of all(".scroll")) {
      const wide = part.scrollWidth > part.clientWidth + 1;
      if (wide) {
        part.tabIndex = 0;
        part.setAttribute("role", "region");
        part.setAttribute("aria-label", "Wider than the screen: scroll sideways");
      } else for (const name of ["tabindex", "role", "aria-label"]) part.removeAttribute(name);
    }
  };
  addEventListener("load", reach);
  addEventListener("resize", reach);
  document.addEventListener("toggle", reach, true);

  // Sounds begin softly, for whoever wears headphones, and one at a time.
  for (const player of all("audio")) {
    player.volume = 0.3;
    player.addEventListener("play", () => {
      for (const other of all("audio")) if (other !== player) other.pause();
    });
  }

  // What moves can be stopped.
  for (const moving of all(".moving")) {
    const image = moving.querySelector("img"), source = moving.querySelector("source");
    const plays = image.getAttribute("src"), still = source.getAttribute("srcset");
    const button = document.createElement("button");
    let running = !matchMedia("(prefers-reduced-motion: reduce)").matches;
    const show = () => {
      source.remove();
      image.src = running ? plays : still;
      button.textContent = running ? "Stop the motion" : "Play the motion";
    };
    button.type = "button";
    button.className = "stop";
    button.addEventListener("click", () => { running = !running; show(); });
    show();
    moving.closest("figure").append(button);
  }

  // Pasted elsewhere, pictures and lessons need their whole address.
  if (location.protocol.startsWith("http")) {
    const whole = (name) => new URL(name, location).href;
    for (const area of all("textarea[data-paste]")) {
      area.value = area.value
        .replace(/(!\[.*\]\()([\w.-]+\.png)\)/s, (_, start, name) => `${start}${whole(name)})`)
        .replace(/\.\.\/(?:lessons|q)\/[\w\/-]+\.html/g, (name) => whole(name));
    }
  }
  for (const area of all("textarea[readonly]")) {
    area.addEventListener("focus", () => area.select());
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Copy";
    button.setAttribute("aria-label", `Copy: ${area.closest("label").firstChild.textContent.trim()}`);
    button.addEventListener("click", async () => {
      try {
        await navigator.clipboard.writeText(area.value);
        say("Copied");
      } catch {
        area.select();
        say("Selected: now copy it by hand");
      }
    });
    area.closest("label").after(button);
  }

  // Search: every list entry that has all the words stays; if none has, those with the most.
  const find = byId("find");
  if (!find) return;
  const idle = new Set(("a an and are as at be box by can do does for from have how i if in inch is it " +
    "make makes my need of on or should so sub subs that the this to want what when where which why will " +
    "with you your").split(" "));
  const also = { 8: "eight", 10: "ten", 12: "twelve", pr: "radiator", sub: "driver", subwoofer: "driver",
    woofer: "driver", speaker: "driver", vent: "port", vented: "port", amp: "amplifier", wire: "cable",
    trunk: "boot", deadening: "brace", xmax: "travel", eq: "equalis" };
  const plain = (text) => text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "");
  const stem = (word) => word.length > 4 ? word.replace(/(?:ing|ed|es|e|(?<!s)s)$/, "") : word;
  const entries = all("li.entry").map((item) => [item, plain(`${item.textContent} ${item.dataset.also ?? ""}`)]);
  const search = () => {
    const typed = plain(find.value).split(/[^\p{L}\p{N}.]+/u).filter(Boolean);
    const telling = typed.filter((word) => !idle.has(word) && (word in also || !/^[\d.]+$/.test(word)));
    const words = (telling.length ? telling : typed).map((word) => [stem(word), also[word]].filter(Boolean));
    const score = (text) => words.filter((each) => each.some((word) => text.includes(word))).length;
    const scores = entries.map(([, text]) => score(text));
    const best = Math.max(...scores);
    let count = 0;
    entries.forEach(([item], number) => {
      item.hidden = words.length > 0 && (best === 0 || scores[number] < best);
      count += !item.hidden;
    });
    for (const shelf of all(".shelf")) {
      const left = all("li.entry", shelf).some((item) => !item.hidden);
      if (shelf.tagName === "DETAILS") shelf.open = words.length > 0 && left;
      shelf.hidden = !left;
    }
    byId("count").textContent = !words.length ? ""
      : best && best < words.length ? `none has all of these words; ${count} have ${best} of the ${words.length}`
      : `${count} found`;
    const here = new URL(location);
    if (find.value) here.searchParams.set("q", find.value);
    else here.searchParams.delete("q");
    try { history.replaceState(null, "", here); } catch { /* not allowed in some viewers */ }
  };
  byId("finder").hidden = false;
  find.value = new URLSearchParams(location.search).get("q") ?? "";
  find.addEventListener("input", search);
  if (find.value) search();
})();
