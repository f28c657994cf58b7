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

  /* What is long and not worked from is folded away on a phone; what a link leads to is opened, paper has all. */
  const folds = [...document.querySelectorAll("details.fold")];
  const small = matchMedia("(max-width: 46rem)");
  let before = [];
  function unfold(target) {
    for (let e = target; e; e = e.parentElement) if (e.tagName === "DETAILS" && e.id !== "find") e.open = true;
    for (const e of target?.querySelectorAll(":scope > details.fold") || []) e.open = true;
  }
  function lead() {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target) return;
    unfold(target);
    target.scrollIntoView({ behavior: "instant" });
  }
  if (small.matches) for (const f of folds) f.open = false;
  if (location.hash) lead();
  addEventListener("hashchange", lead);
  document.addEventListener("click", ({ target }) => {
    const link = target.closest?.("a[href^='#']");
    if (link && link.hash === location.hash) lead(); // the same place once more
  });
  addEventListener("beforeprint", () => {
    before = folds.map((f) => f.open);
    for (const f of folds) f.open = true;
  });
  addEventListener("afterprint", () => folds.forEach((f, k) => { f.open = before[k] ?? f.open; }));

  /* Find: the list, narrowed down by what is typed; Enter takes the first. */
  const find = document.getElementById("find");
  const what = document.getElementById("find-what");
  const entries = [...document.querySelectorAll("#find-list li")];
  const NONE = 4; // what is asked stands nowhere
  function narrow() {
    const asked = what.value.trim().toLowerCase();
    const name = (li) => li.querySelector("b").textContent.toLowerCase();
    const rank = (li) => {
      if (name(li) === asked) return 0;
      if (name(li).startsWith(asked)) return 1;
      if (name(li).includes(asked)) return 2;
      const text = li.textContent.toLowerCase();
      if (/\d/.test(asked) && text.match(/[\p{L}\p{N}]+/gu)?.includes(asked)) return 1; // H2 is not H20
      return asked.split(/\s+/).every((word) => text.includes(word)) ? 3 : NONE; // in whatever order they come
    };
    const ranked = entries.map((li) => [rank(li), li]);
    for (const [place, li] of ranked) li.hidden = place === NONE;
    document.getElementById("find-list").append(...[...ranked].sort((a, b) => a[0] - b[0]).map(([, li]) => li));
    const found = ranked.filter(([place]) => place < NONE).length;
    document.getElementById("find-told").textContent = asked ? `${found || "nothing"} found${found ? ", Enter opens the first" : ""}` : "";
  }
  function shut() {
    find.open = false;
    what.value = "";
    narrow();
  }
  find.addEventListener("toggle", () => find.open && what.focus());
  what.addEventListener("input", narrow);
  what.addEventListener("keydown", (e) => {
    const first = [...document.querySelectorAll("#find-list li:not([hidden]) a")][0];
    if (e.key === "Enter" && what.value.trim()) first?.click();
  });
  find.addEventListener("keydown", (e) => {
    if (e.key !== "Escape") return;
    shut();
    find.querySelector("summary").focus();
  });
  find.addEventListener("click", ({ target }) => target.closest("a") && shut());
  document.addEventListener("keydown", (e) => {
    if (e.key !== "/" || e.ctrlKey || e.metaKey || e.altKey || /^(INPUT|TEXTAREA|SELECT)$/.test(e.target.tagName)) return;
    e.preventDefault();
    find.open = true;
    what.focus(); // at once: the next letter is meant for it
  });

  /* Heads of tables stay below the bar, however many lines it takes. */
  const bar = document.querySelector(".bar");
  const measure = () => document.documentElement.style.setProperty("--bar", `${bar.offsetHeight - 1}px`);
  new ResizeObserver(measure).observe(bar);

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
