/* The 3D view: what is shown, what is pointed at, and the controls round it. */

const REST_MS = 140;
const SLOW_MS = 55;
const QUICK_MS = 26;
const SMALL_PX = 600;
const AFAR_M = 0.006; // in a pixel

function startView() {
  const root = byId("viewer");
  if (!root) return;
  const [stage, canvas, told] = [byId("view-stage"), byId("view-3d"), byId("view-told")];
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: false, preserveDrawingBuffer: true });
  if (!gl) return;
  const scene = JSON.parse(byId("view-data").textContent);
  const { body } = scene;
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
  let drawing = new Drawing(gl, scene);
  const marks = new Marks(byId("view-marks"), byId("view-labels"));

  const shown = {
    cover: 0, cut: [-1e9, 1e9], kinds: [true, true, true, true], reasons: new Set(),
    cables: scene.cables, lit: null, layers: {},
  };
  let [hovered, moving, quality, last, rest, asked] = [null, false, 1, 0, 0, false];
  const picks = new Picks(scene, marks, () => {
    if (shown.lit?.list === "picks") light(null);
    ask();
  });
  for (const c of scene.cables) Object.assign(c, { on: true, rgb: c.colour.map((v) => v / 255) });

  // ---- what has a mark or a name ------------------------------------------------------------
  const item = (list, number, points, name, look, more) => ({
    key: { list, number }, points, name: marks.name(name, look), ...more,
  });
  const items = [
    ...scene.cables.map((c, k) =>
      item("cables", k, c.run.length ? SHARES.map((s) => along(c.run, s)) : [], c.name, `cable ${c.of}`, { onTop: true })),
    ...scene.holes.map((h, k) => item("holes", k, [h.at], h.label, h.drill ? "drill" : "",
      { shape: h.drill ? "drill" : h.used ? "hole" : "unused" })),
    ...scene.joints.map((j, k) => item("joints", k, [j.at], j.name, "", { shape: "joint" })),
    ...scene.devices.map((d, k) => item("devices", k, [d.at], d.name, "device", { shape: "device" })),
    ...scene.landmarks.map((m, k) => item("landmarks", k, [m.at], m.name, "", { shape: "landmark" })),
    ...scene.keepOuts.map((o, k) => item("keepOuts", k, [o.at], o.mark, "reason", { onTop: true, most: 12 })),
    ...scene.spaces.map((s, k) => item("spaces", k, [s.at], `${s.name}: ${s.access}`, "space", { onTop: true })),
    ...scene.clips.map((c, k) => ({ key: { list: "clips", number: k }, points: [c.at], shape: "clip" })),
    ...scene.bundles.map((b, k) => item("bundles", k, [0.5, 0.3, 0.7].map((s) => along(b.run, s)), b.name, "bundle", { onTop: true })),
    ...scene.tapes.map((t, k) => item("tapes", k, [0.5, 0.35, 0.65, 0.2, 0.8].map((s) => along(t.run, s)), t.name, t.check ? "tape check" : "tape", { onTop: true })),
    ...scene.spans.map((s, k) => item("spans", k, [along(s.run, 0.5)], s.text, "", {})),
  ];
  for (const i of items.filter((one) => one.key.list === "cables")) {
    i.name.span.style.borderColor = `rgb(${scene.cables[i.key.number].colour.join(" ")})`;
  }
  const record = ({ list, number }) => ({ picks: picks.all, pending: picks.pending }[list] || scene[list])[number];
  const same = (a, b) => Boolean(a && b && a.list === b.list && a.number === b.number);
  const isShown = {
    cables: (k) => scene.cables[k].on,
    holes: (k) => shown.layers[scene.holes[k].used || scene.holes[k].drill ? "holes" : "unused"],
    joints: (k) => shown.layers.joints && scene.cables[scene.joints[k].cable].on,
    devices: () => shown.layers.devices,
    landmarks: (k) => shown.layers.landmarks || scene.tapes.some((t, n) => t.landmark === k && isShown.tapes(n)),
    keepOuts: (k) => shown.reasons.has(scene.keepOuts[k].reason),
    spaces: () => shown.layers.spaces,
    clips: (k) => shown.layers.clips && scene.clips[k].cables.some((c) => scene.cables[c].on),
    bundles: (k) => shown.layers.bundles && scene.bundles[k].cables.some((c) => scene.cables[c].on),
    // a hole that is lit shows how it is found
    tapes: (k) => shown.layers.tapes || same(shown.lit, { list: "holes", number: scene.tapes[k].hole }),
    spans: (k) => shown.layers.spans && scene.cables[scene.spans[k].cable].on,
    picks: () => true,
    pending: () => true,
    rims: () => shown.layers.rims,
  };
  shown.has = ({ list, number }) => isShown[list](number);
  function wanted() {
    const lit = shown.lit;
    const near = new Set(lit && lit.list === "cables" ? scene.cables[lit.number].holes : []);
    const first = ({ list, number }) => ["picks", "tapes"].includes(list) || (list === "holes" && near.has(number));
    const marks = ({ list }) => list === "landmarks" && !shown.layers.landmarks; // those of the tapes that are shown
    // on a small screen, from afar, only cables and what is to be drilled are named; closer, the rest
    const crowded = stage.clientWidth < SMALL_PX && camera.metresInPixel() > AFAR_M;
    const told = (i) => shown.layers.names && (!crowded || i.key.list === "cables" || i.shape === "drill" || first(i.key));
    const rank = (i) => (same(i.key, lit) ? 0 : first(i.key) || i.shape === "drill" ? 1 : marks(i.key) ? 2 : 3);
    return [...items, ...picks.items()]
      .filter((i) => shown.has(i.key))
      .map((i) => Object.assign(i, {
        lit: same(i.key, lit),
        named: told(i) || same(i.key, lit) || ["keepOuts", "spaces", "spans", "picks", "bundles", "tapes"].includes(i.key.list),
      }))
      .sort((a, b) => rank(a) - rank(b));
  }

  // ---- frames -------------------------------------------------------------------------------
  function ask() {
    if (!asked) requestAnimationFrame(frame);
    asked = true;
  }
  /* Drawn coarsely where this machine is slow, and sharp again once it rests. */
  function move() {
    clearTimeout(rest);
    rest = setTimeout(() => { moving = false; ask(); }, REST_MS);
    moving = true;
    ask();
  }
  function frame(now) {
    asked = false;
    const took = now - last;
    last = now;
    if (moving && took > SLOW_MS && took < 1000) quality = Math.max(quality * 0.8, 0.35);
    if (moving && took < QUICK_MS) quality = Math.min(quality * 1.1, 1);
    const [width, height] = [stage.clientWidth, stage.clientHeight];
    if (!width || !height) return;
    if (width !== camera.width || height !== camera.height) {
      Object.assign(camera, { width, height });
      if (!camera.free) camera.whole();
    }
    const ratio = Math.min(devicePixelRatio || 1, 2);
    const sharp = ratio * (moving ? quality : 1);
    fitted(canvas, width * sharp, height * sharp);
    fitted(marks.canvas, width * ratio, height * ratio);
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
  function close(of, room = 1.2) {
    const tapes = scene.tapes.filter((t) => scene.holes[t.hole] === of).flatMap((t) => t.run);
    const run = [...(of.run || of.at), ...tapes];
    const [width, height] = [stage.clientWidth, stage.clientHeight];
    if (width && height) Object.assign(camera, { width, height });
    camera.fit([...run.map((v) => v - 0.15), ...run.map((v) => v + 0.15)], room);
    ask();
  }
  function hover(key) {
    if (same(key, hovered) || (!key && !hovered)) return;
    hovered = key;
    tell(key || shown.lit);
    ask();
  }

  // ---- pointing -----------------------------------------------------------------------------
  const under = (x, y, reach) => marks.under(x, y, reach) || nearestCable(x, y, reach);
  function tap(x, y, reach) {
    canvas.focus({ preventScroll: true });
    const met = surface(x, y);
    const [name, text, said] = met ? body.parts[body.facePart[met.face]] : [];
    const rim = picks.on && picks.rimUnder(camera.eye, camera.ray(x, y), met);
    if (rim) return picks.add(rim, rim.part, 0);
    if (picks.on) return picks.add(met, name, met ? body.off[met.face] / 1000 : 0);
    const key = under(x, y, reach);
    light(same(key, shown.lit) ? null : key);
    if (!key && met) told.append(made("p", said, { className: "told-name" }), made("p", text));
    return null;
  }
  new Hands(canvas, camera, {
    tap,
    hover: (...at) => hover(picks.on ? null : under(...at)),
    away: () => hover(null),
    moved: move,
    leave: () => { light(null); whole(false); },
  });

  // ---- controls -----------------------------------------------------------------------------
  const each = (selector, on) => root.querySelectorAll(selector).forEach(on);
  const onEach = (selector, kind, act) => each(selector, (e) => e.addEventListener(kind, () => act(e)));
  onEach("[data-eye]", "click", (button) => {
    camera.look(...button.dataset.eye.split(" ").map(Number));
    ask();
  });
  function sliders() {
    const value = (id) => Number(byId(id).value) / 100;
    shown.cover = value("view-cover") ** 1.6;
    shown.cut = [
      value("view-front") > 0 ? low[0] + value("view-front") * (high[0] - low[0]) : -1e9,
      value("view-top") > 0 ? high[2] - value("view-top") * (high[2] - low[2]) : 1e9,
    ];
    move();
  }
  onEach("input[type=range]", "input", sliders);
  function layers() {
    each("[data-layer]", (box) => { shown.layers[box.dataset.layer] = box.checked; });
    each("[data-kind]", (box) => { shown.kinds[Number(box.dataset.kind)] = box.checked; });
    each("[data-reason]", (box) => shown.reasons[box.checked ? "add" : "delete"](box.dataset.reason));
    ask();
  }
  onEach("[data-layer], [data-kind], [data-reason]", "change", layers);
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
    if (shown.lit && !shown.has(shown.lit)) light(null);
    ask();
  }
  onEach("[data-cable]", "change", (box) => {
    scene.cables[box.dataset.cable].on = box.checked;
    lists();
  });
  onEach("[data-class]", "change", (box) => {
    for (const c of scene.cables) if (c.of === box.dataset.class) c.on = box.checked;
    lists();
  });
  /* Show a cable, whatever was hidden, light it, and move so that all of it is seen. */
  function bring(number) {
    if (number < 0) return;
    scene.cables[number].on = true;
    lists();
    light({ list: "cables", number });
    if (scene.cables[number].run.length) close(scene.cables[number], 1.5);
  }
  /* The same from the card of a cable or a hole. */
  function bringCard(card) {
    bring(scene.cables.findIndex((c) => c.card === card));
    const number = scene.holes.findIndex((h) => h.card === card);
    if (number < 0) return;
    light({ list: "holes", number });
    close(scene.holes[number], 1.5);
  }
  onEach("[data-alone]", "click", (button) => {
    const number = Number(button.dataset.alone);
    if (button.getAttribute("aria-pressed") === "true") return showOnly(() => true);
    showOnly((k) => k === number);
    bring(number);
    return stage.scrollIntoView({ block: "nearest" });
  });
  onEach("[data-light]", "click", (button) => {
    bring(Number(button.dataset.light));
    stage.scrollIntoView({ block: "nearest" });
  });
  byId("view-all")?.addEventListener("click", () => showOnly(() => true));
  byId("view-none")?.addEventListener("click", () => showOnly(() => false));
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

  function pick(on) {
    picks.start(on);
    root.classList.toggle("picking", picks.on);
    if (!picks.on || shown.cover > 0) return;
    byId("view-cover").value = 30;
    sliders();
  }
  byId("view-pick").addEventListener("click", () => pick(!picks.on));
  canvas.addEventListener("webglcontextlost", (e) => e.preventDefault());
  canvas.addEventListener("webglcontextrestored", () => { drawing = new Drawing(gl, scene); ask(); });

  // ---- links from the rest of the page ------------------------------------------------------
  document.addEventListener("click", (e) => {
    const link = e.target.closest("[data-show]");
    if (!link) return;
    bringCard(link.dataset.show);
    byId("view").scrollIntoView();
  });
  document.documentElement.classList.add("live");
  layers();
  sliders();
  lists();
  if (root.classList.contains("survey")) pick(true);
  if (location.hash) bringCard(location.hash.slice(1)); // the page was opened at a card
}

startView();
