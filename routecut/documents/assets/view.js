/* The 3D view: what is shown, what is pointed at, and the controls round it. */

const TAP_PX = 8;
const REACH_PX = { mouse: 10, touch: 18, pen: 14 };
const REST_MS = 140;
const SLOW_MS = 55;
const QUICK_MS = 26;

function startView() {
  const byId = (id) => document.getElementById(id);
  const root = byId("viewer");
  if (!root) return;
  const [stage, canvas, told] = [byId("view-stage"), byId("view-3d"), byId("view-told")];
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: false, preserveDrawingBuffer: true });
  if (!gl) return;
  const scene = JSON.parse(byId("view-data").textContent);
  const { body, unit } = scene;
  const Index = body.wide ? Uint32Array : Uint16Array;
  Object.assign(body, {
    levels: unpacked(body.points, Uint16Array),
    faces: unpacked(body.faces, Index),
    edges: unpacked(body.edges, Index),
    facePart: unpacked(body.facePart, Uint16Array),
    off: unpacked(body.off, Uint8Array),
  });
  body.corners = Float64Array.from(body.levels, (v, k) => body.low[k % 3] + v * body.step);
  const points = [...scene.cables.flatMap((c) => c.run), ...body.corners.filter((_, k) => k % 21 < 3)];
  const [low, high] = extent([points]);
  const camera = new Camera(points);
  const drawing = new Drawing(gl, scene);
  const marks = new Marks(byId("view-marks"), byId("view-labels"));

  const shown = {
    cover: 0, cut: [-1e9, 1e9], kinds: [true, true, true, true], reasons: new Set(), spans: [],
    cables: scene.cables, lit: null, layers: {},
  };
  const picks = [];
  let [hovered, picking, quality, last, rest, asked] = [null, false, 1, 0, 0, false];
  for (const c of scene.cables) Object.assign(c, { on: true, rgb: c.colour.map((v) => v / 255) });

  // ---- what has a mark or a name ------------------------------------------------------------
  const item = (list, number, points, name, look, more) => ({
    key: { list, number }, points, name: marks.name(name, look), ...more,
  });
  const items = [
    ...scene.cables.map((c, k) =>
      item("cables", k, c.run.length ? SHARES.map((s) => along(c.run, s)) : [], c.name, `cable ${c.of}`, { onTop: true })),
    ...scene.holes.map((h, k) => item("holes", k, [h.at], h.drill ? `drill: ${h.name}` : h.name, h.drill ? "drill" : "",
      { shape: h.drill ? "drill" : h.used ? "hole" : "unused" })),
    ...scene.joints.map((j, k) => item("joints", k, [j.at], j.name, "", { shape: "joint" })),
    ...scene.devices.map((d, k) => item("devices", k, [d.at], d.name, "device", { shape: "device" })),
    ...scene.landmarks.map((m, k) => item("landmarks", k, [m.at], m.name, "", { shape: "landmark" })),
    ...scene.keepOuts.map((o, k) => item("keepOuts", k, [o.at], o.mark, "reason", { onTop: true, most: 12 })),
    ...scene.spaces.map((s, k) => item("spaces", k, [s.at], `${s.name}: ${s.access}`, "space", { onTop: true })),
    ...scene.spans.map((s, k) => item("spans", k, [along(s.run, 0.5)], s.text, "", {})),
  ];
  const record = ({ list, number }) => (list === "picks" ? picks[number] : scene[list][number]);
  const same = (a, b) => Boolean(a && b && a.list === b.list && a.number === b.number);
  const isShown = {
    cables: (k) => scene.cables[k].on,
    holes: (k) => shown.layers[scene.holes[k].used || scene.holes[k].drill ? "holes" : "unused"],
    joints: (k) => shown.layers.joints && scene.cables[scene.joints[k].cable].on,
    devices: () => shown.layers.devices,
    landmarks: () => shown.layers.landmarks,
    keepOuts: (k) => shown.reasons.has(scene.keepOuts[k].reason),
    spaces: () => shown.layers.spaces,
    spans: (k) => shown.layers.spans && scene.cables[scene.spans[k].cable].on,
    picks: () => true,
  };
  function wanted() {
    const lit = shown.lit;
    const near = new Set(lit && lit.list === "cables" ? scene.cables[lit.number].holes : []);
    const rank = (i) => (same(i.key, lit) ? 0 : i.key.list === "picks" || (i.key.list === "holes" && near.has(i.key.number)) ? 1 : 2);
    return [...items, ...picks.map((p) => p.item)]
      .filter((i) => isShown[i.key.list](i.key.number))
      .map((i) => Object.assign(i, {
        lit: same(i.key, lit),
        named: shown.layers.names || same(i.key, lit) || ["keepOuts", "spaces", "spans"].includes(i.key.list),
      }))
      .sort((a, b) => rank(a) - rank(b));
  }

  // ---- frames -------------------------------------------------------------------------------
  function ask(moving = false) {
    if (moving === true) {
      clearTimeout(rest);
      rest = setTimeout(() => { quality = Math.max(quality, 0.4); moved = false; ask(); }, REST_MS);
      moved = true;
    }
    if (asked) return;
    asked = true;
    requestAnimationFrame(frame);
  }
  let moved = false;
  function frame(now) {
    asked = false;
    const took = now - last;
    last = now;
    if (moved && took < 1000) quality = took > SLOW_MS ? Math.max(quality * 0.8, 0.35) : took < QUICK_MS ? Math.min(quality * 1.1, 1) : quality;
    const [width, height] = [stage.clientWidth, stage.clientHeight];
    if (!width || !height) return;
    if (width !== camera.width || height !== camera.height) {
      Object.assign(camera, { width, height });
      if (!camera.free) camera.whole();
    }
    const ratio = Math.min(devicePixelRatio || 1, 2);
    const sharp = ratio * (moved ? quality : 1);
    fitted(canvas, width * sharp, height * sharp);
    fitted(marks.canvas, width * ratio, height * ratio);
    shown.spans = scene.spans.map((s) => shown.layers.spans && scene.cables[s.cable].on);
    drawing.frame(camera, { ...shown, lit: shown.lit || hovered });
    marks.draw(camera, wanted(), ratio);
    if (!root.dataset.ready) Object.assign(root.dataset, { ready: "yes", readyMs: Math.round(performance.now()) });
  }
  function fitted(surface, width, height) {
    const [w, h] = [Math.max(Math.round(width), 1), Math.max(Math.round(height), 1)];
    if (surface.width !== w) surface.width = w;
    if (surface.height !== h) surface.height = h;
  }

  // ---- what is under a finger ---------------------------------------------------------------
  function nearestCable(x, y, reach) {
    let [best, far] = [null, reach];
    scene.cables.forEach((c, number) => {
      if (!c.on) return;
      let from = null;
      for (let k = 0; k < c.run.length; k += 3) {
        const to = camera.seen(c.run.slice(k, k + 3));
        if (from && to) {
          const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
          const share = between(0, ((x - from[0]) * dx + (y - from[1]) * dy) / (dx * dx + dy * dy || 1), 1);
          const off = Math.hypot(from[0] + share * dx - x, from[1] + share * dy - y);
          if (off < far) [best, far] = [{ list: "cables", number }, off];
        }
        from = to;
      }
    });
    return best;
  }
  function surface(x, y) {
    if (shown.cover <= 0) return null;
    return firstFace(body, camera.eye, camera.ray(x, y), (face, p) =>
      shown.kinds[body.faceEnds.findIndex((end) => face < end)] && p[0] >= shown.cut[0] && p[2] <= shown.cut[1]);
  }

  // ---- the card -----------------------------------------------------------------------------
  const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text }, more);
  function tell(key) {
    told.replaceChildren();
    if (!key) return;
    const of = record(key);
    told.append(made("p", of.name || of.text, { className: "told-name" }));
    const facts = made("dl", "");
    for (const [term, text] of of.facts || []) {
      const pair = made("div", "");
      pair.append(made("dt", term), made("dd", text));
      facts.append(pair);
    }
    told.append(facts);
    if (!same(key, shown.lit)) return;
    const row = made("p", "", { className: "told-ways" });
    if (of.card) row.append(made("a", "open its card", { href: `#${of.card}`, onclick: () => whole(false) }));
    if (of.run || of.at) row.append(made("button", "go closer", { type: "button", onclick: () => close(of) }));
    row.append(made("button", "clear", { type: "button", onclick: () => light(null) }));
    told.append(row);
  }
  function light(key) {
    shown.lit = key;
    const card = key ? record(key).card : "";
    for (const e of document.querySelectorAll(".lit")) e.classList.remove("lit");
    if (card) {
      byId(card)?.classList.add("lit");
      for (const e of document.querySelectorAll(`[data-of="${card}"]`)) e.classList.add("lit");
    }
    tell(key);
    ask();
  }
  function close(of) {
    const run = of.run || of.at;
    camera.fit([...run.map((v) => v - 0.15), ...run.map((v) => v + 0.15)], 1.2);
    ask();
  }
  function hover(key) {
    if (same(key, hovered) || (!key && !hovered)) return;
    hovered = key;
    tell(key || shown.lit);
    ask();
  }

  // ---- pointing -----------------------------------------------------------------------------
  const fingers = new Map();
  let [travel, span, kept] = [0, 0, null];
  const place = (e) => { const box = canvas.getBoundingClientRect(); return [e.clientX - box.left, e.clientY - box.top]; };
  const spread = () => { const [a, b] = [...fingers.values()]; return [Math.hypot(a[0] - b[0], a[1] - b[1]) || 1, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2]; };
  canvas.addEventListener("pointerdown", (e) => {
    fingers.set(e.pointerId, place(e));
    canvas.setPointerCapture(e.pointerId);
    if (fingers.size === 1) [travel, kept] = [0, { turn: camera.turn, tilt: camera.tilt }];
    if (fingers.size === 2) { span = spread(); travel = Infinity; }
  });
  canvas.addEventListener("pointermove", (e) => {
    const at = place(e);
    const before = fingers.get(e.pointerId);
    if (!before) {
      if (e.pointerType === "mouse") hover(picking ? null : marks.under(...at, 12) || nearestCable(...at, REACH_PX.mouse));
      return;
    }
    fingers.set(e.pointerId, at);
    const [dx, dy] = [at[0] - before[0], at[1] - before[1]];
    travel += Math.hypot(dx, dy);
    if (fingers.size === 2) {
      const now = spread();
      camera.zoom(span[0] / now[0]);
      camera.move(now[1] - span[1], now[2] - span[2]);
      span = now;
    } else if (travel > TAP_PX) {
      if (e.shiftKey || e.buttons & 6) camera.move(dx, dy);
      else camera.rotate(dx, dy);
    } else return;
    ask(true);
  });
  const lifted = (e) => {
    const alone = fingers.size === 1;
    fingers.delete(e.pointerId);
    if (e.type === "pointerup" && alone && travel <= TAP_PX) tap(...place(e), REACH_PX[e.pointerType] || 14);
    if (e.type === "pointercancel" && alone) ask(Object.assign(camera, kept)); // the page took the finger to scroll
    if (fingers.size === 1) travel = Infinity;
  };
  canvas.addEventListener("pointerup", lifted);
  canvas.addEventListener("pointercancel", lifted);
  canvas.addEventListener("pointerleave", () => hover(null));
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  for (const kind of ["touchstart", "touchmove"]) {
    canvas.addEventListener(kind, (e) => e.touches.length > 1 && e.preventDefault(), { passive: false });
  }
  canvas.addEventListener("wheel", (e) => {
    if (document.activeElement !== canvas) return; // the page scrolls until the view is clicked
    e.preventDefault();
    camera.zoom(Math.exp(between(-60, e.deltaY, 60) * 0.004));
    ask(true);
  }, { passive: false });
  function tap(x, y, reach) {
    canvas.focus({ preventScroll: true });
    if (picking) return pick(x, y);
    const key = marks.under(x, y, reach) || nearestCable(x, y, reach);
    if (key) return light(same(key, shown.lit) ? null : key);
    const met = surface(x, y);
    light(null);
    if (!met) return null;
    const [name, text] = body.parts[body.facePart[met.face]];
    return told.append(made("p", name, { className: "told-name" }), made("p", text));
  }
  canvas.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: [-40, 0], ArrowRight: [40, 0], ArrowUp: [0, -40], ArrowDown: [0, 40] }[e.key];
    if (step && e.shiftKey) camera.move(...step.map((v) => -v));
    else if (step) camera.rotate(...step);
    else if (e.key === "+" || e.key === "=") camera.zoom(0.85);
    else if (e.key === "-") camera.zoom(1 / 0.85);
    else if (e.key === "Escape") { light(null); whole(false); }
    else return;
    e.preventDefault();
    ask(true);
  });

  // ---- controls -----------------------------------------------------------------------------
  const each = (selector, on) => root.querySelectorAll(selector).forEach(on);
  const lookTo = { };
  each("[data-eye]", (button) => {
    lookTo[button.textContent] = button.dataset.eye.split(" ").map(Number);
    button.addEventListener("click", () => { camera.look(...lookTo[button.textContent]); ask(); });
  });
  function sliders() {
    const value = (id) => Number(byId(id).value) / 100;
    shown.cover = value("view-cover") ** 1.6;
    shown.cut = [
      value("view-front") > 0 ? low[0] + value("view-front") * (high[0] - low[0]) : -1e9,
      value("view-top") > 0 ? high[2] - value("view-top") * (high[2] - low[2]) : 1e9,
    ];
    ask(true);
  }
  each("input[type=range]", (slider) => slider.addEventListener("input", sliders));
  function layers() {
    each("[data-layer]", (box) => { shown.layers[box.dataset.layer] = box.checked; });
    each("[data-kind]", (box) => { shown.kinds[Number(box.dataset.kind)] = box.checked; });
    each("[data-reason]", (box) => shown.reasons[box.checked ? "add" : "delete"](box.dataset.reason));
    ask();
  }
  each("[data-layer], [data-kind], [data-reason]", (box) => box.addEventListener("change", layers));
  function showOnly(on) {
    scene.cables.forEach((c, k) => { c.on = on(k, c); });
    lists();
  }
  function lists() {
    const shownCables = scene.cables.filter((c) => c.on && c.run.length);
    each("[data-cable]", (box) => { box.checked = scene.cables[box.dataset.cable].on; });
    each("[data-alone]", (b) => b.setAttribute("aria-pressed", String(shownCables.length === 1 && scene.cables[b.dataset.alone].on)));
    each("[data-class]", (box) => {
      const of = scene.cables.filter((c) => c.of === box.dataset.class);
      box.checked = of.some((c) => c.on);
      box.indeterminate = box.checked && !of.every((c) => c.on);
    });
    if (shown.lit && !isShown[shown.lit.list](shown.lit.number)) light(null);
    ask();
  }
  each("[data-cable]", (box) => box.addEventListener("change", () => { scene.cables[box.dataset.cable].on = box.checked; lists(); }));
  each("[data-class]", (box) => box.addEventListener("change", () => {
    for (const c of scene.cables) if (c.of === box.dataset.class) c.on = box.checked;
    lists();
  }));
  each("[data-alone]", (b) => b.addEventListener("click", () => {
    const number = Number(b.dataset.alone);
    if (b.getAttribute("aria-pressed") === "true") return showOnly(() => true);
    showOnly((k) => k === number);
    light({ list: "cables", number });
    return stage.scrollIntoView({ block: "nearest" });
  }));
  each("[data-light]", (b) => b.addEventListener("click", () => {
    const number = Number(b.dataset.light);
    scene.cables[number].on = true;
    lists();
    light({ list: "cables", number });
    stage.scrollIntoView({ block: "nearest" });
  }));
  byId("view-all").addEventListener("click", () => showOnly(() => true));
  byId("view-none").addEventListener("click", () => showOnly(() => false));
  function whole(on) {
    root.classList.toggle("whole", on);
    document.documentElement.classList.toggle("held", on);
    byId("view-whole").textContent = on ? "back to the page" : "whole screen";
    ask();
  }
  byId("view-whole").addEventListener("click", () => whole(!root.classList.contains("whole")));
  // on paper the view stands as it was turned, where there are no pictures: of the size it was drawn in
  addEventListener("beforeprint", () => {
    whole(false);
    [stage.style.width, stage.style.height] = [`${stage.clientWidth}px`, `${stage.clientHeight}px`];
  });
  addEventListener("afterprint", () => { stage.style.width = stage.style.height = ""; });
  new ResizeObserver(() => ask()).observe(stage);

  // ---- picking ------------------------------------------------------------------------------
  const picked = byId("view-picked");
  const digits = (v) => (v / unit.inM).toFixed(unit.decimals).replace(/^-(0(\.0*)?)$/, "$1");
  const quoted = (text) => JSON.stringify(text).replace(/\u007f/g, "\\u007f");
  function pick(x, y) {
    const met = surface(x, y);
    byId("view-pick-told").textContent = met ? "" : "No surface there: make the body visible, or point at it.";
    if (!met) return;
    const number = picks.length;
    const one = { name: `point ${number + 1}`, at: met.point, normal: met.normal, off: body.off[met.face] / 1000, part: body.parts[body.facePart[met.face]][0] };
    one.facts = [["at", `${met.point.map(digits).join(", ")} ${unit.name}`], ["on", one.part], ["within", withinText(one)]];
    one.item = { key: { list: "picks", number }, points: [one.at], name: marks.name(one.name, "pick"), shape: "pick", named: true };
    picks.push(one);
    listPicks();
  }
  const within = (one) => Math.ceil(Math.max(one.off, 0.001) / unit.inM * 10 ** unit.decimals) / 10 ** unit.decimals;
  const withinText = (one) => `${within(one)} ${unit.name} of the mesh${one.off > 0.002 ? " - coarse here, point beside it" : ""}`;
  function listPicks() {
    byId("view-picks").replaceChildren(...picks.map((one, number) => {
      one.item.key = { list: "picks", number };
      const row = made("li", "");
      const name = made("input", "", { value: one.name, maxLength: 120, ariaLabel: `name of point ${number + 1}` });
      name.addEventListener("input", () => {
        one.name = name.value;
        one.item.name.span.textContent = name.value;
        one.item.name.size = null;
        toml();
        ask();
      });
      const drop = made("button", "remove", { type: "button", onclick: () => {
        one.item.name.span.remove();
        marks.names.splice(marks.names.indexOf(one.item.name), 1);
        picks.splice(number, 1);
        listPicks();
      } });
      row.append(name, made("span", one.facts.map(([term, text]) => `${term} ${text}`).join("; ")), drop);
      return row;
    }));
    toml();
    ask();
  }
  function toml() {
    const head = `# Points picked on the body of ${quoted(scene.title)}.\n# ISO 4130 axes, lengths in ${unit.name}; each is within "within" of the mesh.\n`;
    picked.value = picks.length ? head + picks.map((one) =>
      `\n[[pick]]\nname = ${quoted(one.name)}\nat = [${one.at.map(digits).join(", ")}]\npart = ${quoted(one.part)}\nnormal = [${one.normal.map((n) => (n + 0).toFixed(3)).join(", ")}]\nwithin = ${within(one)}\n`).join("") : "";
    byId("view-collected").hidden = !picks.length;
  }
  byId("view-pick").addEventListener("click", (e) => {
    picking = !picking;
    e.target.setAttribute("aria-pressed", String(picking));
    root.classList.toggle("picking", picking);
    byId("view-pick-told").textContent = picking ? "Tap the body where you want a point." : "";
    if (picking && shown.cover <= 0) { byId("view-cover").value = 30; sliders(); }
  });
  byId("view-copy").addEventListener("click", async () => {
    try { await navigator.clipboard.writeText(picked.value); } catch { picked.select(); document.execCommand("copy"); }
    byId("view-pick-told").textContent = "Copied.";
  });
  byId("view-save").addEventListener("click", () => {
    const link = made("a", "", { href: URL.createObjectURL(new Blob([picked.value], { type: "application/toml" })), download: "picks.toml" });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  });

  // ---- links from the rest of the page ------------------------------------------------------
  document.addEventListener("click", (e) => {
    const link = e.target.closest("[data-show]");
    if (!link) return;
    const number = scene.cables.findIndex((c) => c.card === link.dataset.show);
    if (number < 0) return;
    scene.cables[number].on = true;
    lists();
    light({ list: "cables", number });
    byId("view").scrollIntoView();
  });
  document.documentElement.classList.add("live");
  layers();
  sliders();
  lists();
  moved = false;
  ask();
}

startView();
