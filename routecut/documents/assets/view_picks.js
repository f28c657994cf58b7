/* Points picked on the body become entries of a job: named, listed, and written as TOML.

   The same as routecut/scene/tagging.py and routecut/documents/picks.py do: kinds, templates and figures
   come from there with the page, and a test holds the two texts against each other. */

class Picks {
  /* `spaces`, `rims` and `tagging` of the scene; `marks` for names; `changed` is told when there is something to draw. */
  constructor(scene, marks, changed) {
    const { title, spaces, tagging, rims = [] } = scene;
    Object.assign(this, { title, unit: scene.unit.name, spaces, rims, marks, changed, ...tagging });
    Object.assign(this, { all: [], pending: [], on: false, kind: this.kinds[0].key });
    this.text = byId("view-picked");
    byId("view-devices").append(...this.taken.port.map((name) => made("option", "", { value: name })));
    byId("view-copy").addEventListener("click", () => this.copy());
    byId("view-save").addEventListener("click", () => this.save());
    for (const radio of document.querySelectorAll("[name=view-kind]")) {
      radio.addEventListener("change", () => this.choose(radio.value));
    }
    byId("view-again").addEventListener("click", () => this.choose(this.kind));
  }

  say(text) {
    byId("view-pick-told").textContent = text;
    byId("view-again").hidden = !this.pending.length;
  }

  start(on) {
    this.on = on;
    byId("view-pick").setAttribute("aria-pressed", String(on));
    this.choose(this.kind);
    if (!on) this.say("");
  }

  choose(kind) {
    this.kind = kind;
    this.pending = [];
    this.say(this.kinds.find((k) => k.key === kind).tell);
    this.changed();
  }

  /* What is marked in the picture: entries, and taps that wait for more. */
  items() {
    return [...this.all, ...this.pending].map((one) => one.item);
  }

  /* `met`: what `firstFace` found there; null for nothing. */
  add(met, part, off) {
    if (!met) return this.say("No surface there: make the body visible, or point at it.");
    const point = { at: met.point, normal: met.normal, part, off: Math.max(off, this.pointedM) };
    point.item = { points: [point.at], shape: "pick", key: { list: "pending", number: this.pending.length } };
    this.pending.push(point);
    const { taps } = this.kinds.find((k) => k.key === this.kind);
    if (this.pending.length < taps) {
      this.say(`${this.pending.length} of ${taps} taps`);
      return this.changed();
    }
    const one = this.made(this.pending);
    if (typeof one === "string") {
      if (this.kind !== "keep_out") this.pending = [];
      this.say(one);
      return this.changed();
    }
    this.pending = [];
    one.kind = this.kind;
    this.all.push(one);
    this.say(`${one.values.device || one.values.name}: picked. Name it below, or go on.`);
    return this.list();
  }

  /* An entry of the taps, or a text that says why there is none. */
  made(taps) {
    const [first, last] = [taps[0], taps[taps.length - 1]];
    const name = this.freeName();
    const on = { part: first.part, off: first.off };
    const at = first.at;
    if (this.kind === "landmark") return this.entry("landmark", at, { name, at, ...on });
    if (this.kind === "port") {
      const space = this.spaceAt(plus(at, first.normal, this.mouthM));
      return this.entry("port", at, { device: name, name: "1", at, normal: first.normal, space, ...on });
    }
    if (this.kind === "hinge") return this.entry("hinge", at, { name, first: at, second: last.at });
    if (this.kind === "keep_out") {
      const [low, high] = extent(taps.map((t) => t.at));
      if (Math.min(...minus(high, low)) < this.flatM) {
        return "These lie in one plane: tap a third corner, as far out as it reaches.";
      }
      return this.entry("keep_out", low.map((v, k) => (v + high[k]) / 2), { name, low, high, reason: "other" });
    }
    return this.hole(name, taps);
  }

  hole(name, taps) {
    let [template, at, axis, size] = ["hole", taps[0].at, taps[0].normal, this.plainDiameterM];
    const more = { part: taps[0].part };
    if (this.kind === "rim") {
      const rim = this.rimOf(taps.map((t) => t.at));
      if (rim) {
        [template, at, axis, size] = ["rim", rim.at, rim.axis, rim.diameter];
        Object.assign(more, { part: rim.part, edges: rim.edges, within: rim.within });
      } else {
        const alike = (n) => n.map((v) => v * (dot(n, taps[0].normal) < 0 ? -1 : 1));
        const sum = taps.slice(1).reduce((s, t) => plus(s, alike(t.normal)), axis);
        axis = sum.map((v) => v / Math.hypot(...sum));
        const circle = circleThrough(taps.map((t) => t.at), axis);
        if (!circle) return "These three lie in one line: tap three points far apart on the rim.";
        [template, at, size] = ["taps", ...circle];
      }
    }
    const [before, behind] = [-1, 1].map((sign) => this.spaceAt(plus(at, axis, sign * this.mouthM)));
    const values = { name, at, axis, diameter: size, state: "existing", first: before, second: behind, ...more };
    return this.entry(template, at, values);
  }

  entry(template, at, values) {
    const name = this.marks.name(values.device || values.name, "pick");
    return { template, values, at, item: { points: [at], name, shape: "pick" } };
  }

  freeName() {
    const word = this.nameWords[this.kind];
    const used = new Set([...this.taken[this.kind], ...this.all.map((one) => one.values.device || one.values.name)]);
    let number = 1;
    while (used.has(`${word} ${number}`)) number += 1;
    return `${word} ${number}`;
  }

  spaceAt(p) {
    const holds = (b) => [0, 1, 2].every((k) => b[k] <= p[k] && p[k] <= b[k + 3]);
    return this.spaces.find((s) => s.boxes.some(holds))?.name || "";
  }

  rimOf(taps) {
    let [best, far] = [null, Infinity];
    for (const rim of this.rims) {
      const off = Math.max(...taps.map((tap) => {
        const way = minus(tap, rim.at);
        const high = dot(way, rim.axis);
        return Math.hypot(Math.hypot(...plus(way, rim.axis, -high)) - rim.diameter / 2, high);
      }));
      if (off <= Math.max((this.rimNear * rim.diameter) / 2, this.rimNearM) && off < far) [best, far] = [rim, off];
    }
    return best;
  }

  /* A rim that a ray passes close by, when rims are what is picked: a tap beside the sheet, in the hole, is meant as well. */
  rimUnder(from, way, met) {
    if (this.kind !== "rim") return null;
    let [best, far] = [null, Infinity];
    for (const rim of this.rims) {
      const slope = dot(way, rim.axis);
      const depth = dot(minus(rim.at, from), rim.axis) / slope;
      if (Math.abs(slope) < this.rimSlant || !(depth > 0) || (met && depth > met.depth + this.rimBeforeM)) continue;
      const point = plus(from, way, depth);
      const off = Math.abs(Math.hypot(...minus(point, rim.at)) - rim.diameter / 2);
      if (off > Math.max((this.rimNear * rim.diameter) / 2, this.rimNearM) || off >= far) continue;
      const normal = rim.axis.map((v) => (slope > 0 ? -v : v));
      [best, far] = [{ point, normal, part: rim.part, depth }, off];
    }
    return best;
  }

  // ---- the list -----------------------------------------------------------------------------
  list() {
    byId("view-picks").replaceChildren(...this.all.map((one, number) => this.row(one, number)).reverse()); // newest first
    byId("view-collected").hidden = !this.all.length;
    this.wrote();
  }

  wrote() {
    this.text.value = this.toml();
    [...document.querySelectorAll("#view-picks > li")].reverse().forEach((row, number) => {
      this.all[number].text = this.all[number].values.device || this.all[number].values.name;
      row.querySelector(".pick-fault").textContent = this.fault(this.all[number]);
    });
    this.changed();
  }

  /* What `routecut add` would refuse of it. */
  fault(one) {
    const { values, kind } = one;
    const alike = (other) => this.nameWords[other.kind] === this.nameWords[kind] && other.values.name === values.name;
    const same = this.all.filter((other) => alike(other) && other.values.device === values.device);
    if (!values.name.trim() || values.device?.trim() === "") return "It needs a name.";
    if (same.length > 1) return "This name is picked twice.";
    if (kind !== "port" && this.taken[kind].includes(values.name)) return "The job has this name already.";
    if ("second" in values && "state" in values && (!values.first || !values.second)) return "Say which spaces it joins.";
    if ("state" in values && values.first === values.second) return "It joins a space with itself: say which lies on its other side.";
    if (kind === "port" && !values.space && !this.taken.port.includes(values.device)) return "Say which space it is in.";
    return "";
  }

  row(one, number) {
    const { values } = one;
    one.item.key = { list: "picks", number };
    one.facts = [["is", this.kinds.find((k) => k.key === one.kind).words], ...this.facts(values)];
    const row = made("li", "");
    const set = (key) => (value) => {
      values[key] = value;
      this.marks.rename(one.item.name, values.device || values.name);
      this.wrote();
    };
    const field = (key, words, more) => row.append(labelled(words, `${words} of pick ${number + 1}`, values[key], set(key), more));
    if ("device" in values) field("device", "device", { list: this.taken.port });
    field("name", "device" in values ? "port" : "name");
    if ("diameter" in values) field("diameter", `diameter, ${this.unit}`, { size: this });
    if ("state" in values) field("state", "it is", { words: this.states });
    const spaces = this.spaces.map((s) => s.name);
    if ("state" in values) field("first", "joins", { words: spaces });
    if ("state" in values) field("second", "and", { words: spaces });
    if ("reason" in values) field("reason", "reason", { words: this.reasons });
    if ("device" in values) field("space", "in", { words: spaces });
    const drop = made("button", "remove", { type: "button", ariaLabel: `remove pick ${number + 1}` });
    drop.addEventListener("click", () => {
      this.marks.forget(one.item.name);
      this.all.splice(this.all.indexOf(one), 1);
      this.list();
    });
    const told = one.facts.map(([term, text]) => `${term} ${text}`).join("; ");
    row.append(drop, made("span", told, { className: "pick-told" }), made("strong", "", { className: "pick-fault" }));
    return row;
  }

  facts(values) {
    const place = (p) => `${p.map((v) => this.digits(v / this.placeInM, this.decimals)).join(", ")} ${this.unit}`;
    const found = [];
    for (const key of ["at", "low", "high", "first", "second"]) {
      if (Array.isArray(values[key])) found.push([key === "at" ? "at" : { low: "from", high: "to", first: "from", second: "to" }[key], place(values[key])]);
    }
    if (values.edges) found.push(["by", `its rim of ${values.edges} edges`]);
    else if ("diameter" in values) found.push(["its diameter", "is not in the mesh: measure it"]);
    if (values.part) found.push(["on", values.part]);
    if (values.off > 2 * this.pointedM) found.push(["coarse here", "point beside it"]);
    return found;
  }

  // ---- TOML ---------------------------------------------------------------------------------
  digits(v, decimals) {
    const text = v.toFixed(decimals);
    return /^-[0.]*$/.test(text) ? text.slice(1) : text;
  }

  written(value, kind) {
    if (kind === "word") return value;
    if (typeof value === "string") return JSON.stringify(value).replace(/\u007f/g, "\\u007f");
    if (kind === "way") return `[${value.map((v) => this.digits(v, this.wayDecimals)).join(", ")}]`;
    if (kind === "count") return this.digits(value, 0);
    if (kind === "size") return this.digits(value / this.inM, this.decimals + 1);
    const decimals = this.decimals + (kind === "fine" ? 1 : 0);
    return `[${value.map((v) => this.digits(v / this.placeInM, decimals)).join(", ")}]`;
  }

  filled(template, values) {
    return this.templates[template].replace(/\{(\w+):(\w+)\}/g, (_, key, kind) => this.written(values[key], kind));
  }

  toml() {
    if (!this.all.length) return "";
    const blocks = [this.filled("head", { title: this.title, unit: this.unit, digest: this.digest })];
    for (const { key } of this.kinds) {
      if (key === "port") continue;
      blocks.push(...this.all.filter((one) => one.kind === key).map((one) => this.filled(one.template, one.values)));
    }
    const ports = this.all.filter((one) => one.kind === "port").map((one) => one.values);
    for (const device of new Set(ports.map((p) => p.device))) {
      const of = ports.filter((p) => p.device === device);
      blocks.push(this.filled(this.taken.port.includes(device) ? "known device" : "device", of[0]));
      blocks.push(...of.map((p) => this.filled("port", p)));
    }
    return blocks.join("\n");
  }

  async copy() {
    try {
      await navigator.clipboard.writeText(this.text.value);
    } catch {
      this.text.select(); // a page opened from a file may not be let near the clipboard
      document.execCommand("copy");
    }
    this.handed("Copied");
  }

  /* What was handed out, and what `routecut add` would not take of it. */
  handed(how) {
    const [all, off] = [this.all.length, this.all.filter((one) => this.fault(one)).length];
    const count = `${all} pick${all === 1 ? "" : "s"}`;
    this.say(`${how}: ${count}. ${off ? `${off} of them can't be added as it is: see below.` : "Not in the job before it is added."}`);
  }

  save() {
    const file = new Blob([this.text.value], { type: "application/toml" });
    const link = made("a", "", { href: URL.createObjectURL(file), download: "picks.toml" });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    this.handed("Saved");
  }
}

/* Middle and diameter of the circle through three points seen along an axis; null for a line. */
function circleThrough(points, axis) {
  const middle = points.reduce((s, p) => plus(s, p), [0, 0, 0]).map((v) => v / 3);
  const least = axis.map(Math.abs);
  const across = cross(axis, [0, 1, 2].map((k) => Number(k === least.indexOf(Math.min(...least)))));
  const right = across.map((v) => v / Math.hypot(...across));
  const up = cross(axis, right);
  const [a, b, c] = points.map((p) => [dot(minus(p, middle), right), dot(minus(p, middle), up)]);
  const [u, v] = [[b[0] - a[0], b[1] - a[1]], [c[0] - a[0], c[1] - a[1]]];
  const twice = 2 * (u[0] * v[1] - u[1] * v[0]);
  const [uu, vv] = [u[0] * u[0] + u[1] * u[1], v[0] * v[0] + v[1] * v[1]];
  if (Math.abs(twice) < 0.05 * Math.max(uu, vv)) return null;
  const [x, y] = [(v[1] * uu - u[1] * vv) / twice, (u[0] * vv - v[0] * uu) / twice];
  return [plus(plus(middle, right, a[0] + x), up, a[1] + y), 2 * Math.hypot(x, y)];
}

/* A field with its words: a text, one of some words, or a size in the unit of `size`. */
function labelled(words, name, value, act, { list, words: choices, size } = {}) {
  const label = made("label", "");
  label.append(made("span", words));
  if (choices) {
    const select = made("select", "", { ariaLabel: name });
    if (!choices.includes(value)) select.append(made("option", "choose", { value: "" }));
    select.append(...choices.map((c) => made("option", c, { value: c })));
    select.value = choices.includes(value) ? value : "";
    select.addEventListener("change", () => act(select.value));
    label.append(select);
    return label;
  }
  const text = size ? size.digits(value / size.inM, size.decimals + 1) : value;
  const input = made("input", "", { value: text, maxLength: 120, ariaLabel: name, autocomplete: "off" });
  if (size) input.inputMode = "decimal";
  if (list) input.setAttribute("list", "view-devices");
  input.addEventListener("input", () => {
    if (!size) return act(input.value);
    const typed = Number(input.value.replace(",", "."));
    input.setCustomValidity(typed > 0 ? "" : "a number above 0");
    return typed > 0 && act(typed * size.inM);
  });
  label.append(input);
  return label;
}
