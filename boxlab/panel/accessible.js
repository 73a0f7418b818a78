// Runs as the `onload` of the style sheet in a panel or a question; `this` is that sheet.
// It sets names and states that ipywidgets has no traits for, and nothing else: the widgets
// never hear of it, and where a page forbids it they work as they are.
const box = this.closest(".boxlab, .boxlab-quiz");
if (!box || box.boxlabNamed) return; // scrolled out of sight and back
box.boxlabNamed = true;

const all = (selector, within = box) => within.querySelectorAll(selector);
const words = element => (element ? element.textContent.trim() : "");
const set = (element, name, value) => {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
};

const name = () => {
  const about = words(box.querySelector(".boxlab-q, strong"));
  if (about) set(box, "role", "group"), set(box, "aria-label", about);
  for (const group of all(".widget-toggle-buttons")) {
    set(group, "role", "group");
    set(group, "aria-label", words(group.querySelector("label")));
    for (const button of all("button", group)) {
      set(button, "aria-pressed", String(button.classList.contains("mod-active")));
    }
  }
  for (const button of all(".boxlab-fold")) {
    set(button, "aria-expanded", String(button.classList.contains("mod-active")));
  }
  for (const group of all(".widget-radio-box")) {
    group.boxlabName ||= `boxlab-${Math.random().toString(36).slice(2)}`;
    set(group, "role", "radiogroup");
    set(group, "aria-label", words(box.querySelector(".boxlab-asked")));
    // Of one name they are one stop for Tab, and arrows go from one to the next.
    for (const radio of all("input", group)) set(radio, "name", group.boxlabName);
  }
  for (const picture of all("img.widget-image")) set(picture, "alt", "Picture, described below");
};

// JupyterLab would take these keys for going from cell to cell.
box.addEventListener("keydown", event => {
  const moves = /^(Arrow|Page|Home|End)/.test(event.key);
  if (moves && event.target.matches("[type=radio], select")) event.stopPropagation();
});
new MutationObserver(name).observe(box, {
  subtree: true, childList: true, attributes: true, attributeFilter: ["class"],
});
name();
