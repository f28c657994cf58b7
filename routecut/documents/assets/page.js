"use strict";
/* The page round the 3D view: boxes that stay ticked, and which section one is in. */
(() => {
  const boxes = [...document.querySelectorAll("input[data-tick]")];
  const panel = document.getElementById("ticks");
  const key = panel ? `job pack ${panel.dataset.revision}` : "";
  let kept = true;

  /* Some browsers keep nothing for a page opened from a file: then the boxes hold until it is closed. */
  function read() {
    try {
      return new Set(JSON.parse(localStorage.getItem(key) || "[]"));
    } catch {
      kept = false;
      return new Set();
    }
  }
  function write() {
    const ticked = boxes.filter((b) => b.checked).map((b) => b.dataset.tick);
    try {
      if (ticked.length) localStorage.setItem(key, JSON.stringify(ticked));
      else localStorage.removeItem(key);
    } catch {
      kept = false;
    }
    tell();
  }
  function show(ticked) {
    for (const b of boxes) b.checked = ticked.has(b.dataset.tick);
    tell();
  }
  function tell() {
    const done = boxes.filter((b) => b.checked).length;
    document.getElementById("ticks-told").textContent = `${done} of ${boxes.length} boxes ticked. ${kept
      ? "They stay ticked in this browser, on this device, for this revision."
      : "This browser keeps nothing for this page: they are lost when it is closed."}`;
    const clear = document.getElementById("ticks-clear");
    clear.hidden = !done;
    clear.textContent = "clear all boxes";
    delete clear.dataset.asked;
  }
  if (panel && boxes.length) {
    panel.hidden = false;
    for (const b of boxes) b.addEventListener("change", write);
    document.getElementById("ticks-clear").addEventListener("click", ({ currentTarget: clear }) => {
      if (!clear.dataset.asked) {
        clear.dataset.asked = "yes";
        clear.textContent = "press again to clear all boxes";
        return;
      }
      for (const b of boxes) b.checked = false;
      write();
    });
    addEventListener("storage", (e) => e.key === key && show(read()));
    show(read());
  }

  /* The section that is read now is marked in the menu, and the menu is moved so that its mark is seen. */
  const menu = document.querySelector("nav");
  const links = [...menu.querySelectorAll("a")];
  const sections = links.map((a) => document.getElementById(a.getAttribute("href").slice(1)));
  let [marked, asked] = [null, false];
  function here() {
    asked = false;
    const line = menu.getBoundingClientRect().bottom + 60;
    const end = innerHeight + scrollY >= document.documentElement.scrollHeight - 2;
    const passed = sections.filter((s) => s.getBoundingClientRect().top <= line);
    const link = links[end ? links.length - 1 : Math.max(passed.length - 1, 0)];
    if (link === marked) return;
    marked?.removeAttribute("aria-current");
    link.setAttribute("aria-current", "location");
    marked = link;
    if (menu.scrollWidth > menu.clientWidth) {
      menu.scrollLeft = link.offsetLeft - menu.offsetLeft - (menu.clientWidth - link.offsetWidth) / 2;
    }
  }
  function soon() {
    if (!asked) requestAnimationFrame(here);
    asked = true;
  }
  addEventListener("scroll", soon, { passive: true });
  addEventListener("resize", soon);
  here();
})();
