/* Points picked on the body: named, listed, and written as TOML in the unit of the job. */

const NEAR_ENOUGH_M = 0.002;

class Picks {
  constructor(scene, marks, changed) {
    Object.assign(this, { unit: scene.unit, title: scene.title, marks, changed, all: [], on: false });
    this.text = byId("view-picked");
    byId("view-copy").addEventListener("click", () => this.copy());
    byId("view-save").addEventListener("click", () => this.save());
  }

  say(text) {
    byId("view-pick-told").textContent = text;
  }

  start(on) {
    this.on = on;
    byId("view-pick").setAttribute("aria-pressed", String(on));
    this.say(on ? "Tap the body where you want a point." : "");
  }

  /* `met`: what `firstFace` found there; null for nothing. */
  add(met, part, off) {
    this.say(met ? "" : "No surface there: make the body visible, or point at it.");
    if (!met) return;
    const one = { name: `point ${this.all.length + 1}`, at: met.point, normal: met.normal, part };
    one.within = this.within(off);
    const doubt = off > NEAR_ENOUGH_M ? " - coarse here, point beside it" : "";
    one.facts = [
      ["at", `${one.at.map((v) => this.digits(v)).join(", ")} ${this.unit.name}`],
      ["on", part],
      ["within", `${one.within} ${this.unit.name} of the mesh${doubt}`],
    ];
    one.item = { points: [one.at], name: this.marks.name(one.name, "pick"), shape: "pick" };
    this.all.push(one);
    this.list();
  }

  digits(v) {
    return (v / this.unit.inM).toFixed(this.unit.decimals).replace(/^-(0(\.0*)?)$/, "$1");
  }

  /* How far off the mesh the point may be, rounded up in the unit of the job. */
  within(off) {
    const step = 10 ** this.unit.decimals;
    return Math.ceil((Math.max(off, 0.001) / this.unit.inM) * step) / step;
  }

  list() {
    byId("view-picks").replaceChildren(...this.all.map((one, number) => this.row(one, number)));
    byId("view-collected").hidden = !this.all.length;
    this.text.value = this.toml();
    this.changed();
  }

  row(one, number) {
    one.item.key = { list: "picks", number };
    const name = made("input", "", { value: one.name, maxLength: 120, ariaLabel: `name of point ${number + 1}` });
    name.addEventListener("input", () => {
      one.name = name.value;
      this.marks.rename(one.item.name, name.value);
      this.text.value = this.toml();
      this.changed();
    });
    const drop = made("button", "remove", { type: "button", ariaLabel: `remove point ${number + 1}` });
    drop.addEventListener("click", () => {
      this.marks.forget(one.item.name);
      this.all.splice(this.all.indexOf(one), 1);
      this.list();
    });
    const row = made("li", "");
    row.append(name, made("span", one.facts.map(([term, text]) => `${term} ${text}`).join("; ")), drop);
    return row;
  }

  toml() {
    if (!this.all.length) return "";
    const quoted = (text) => JSON.stringify(text).replace(/\u007f/g, "\\u007f");
    const entries = this.all.map((one) => [
      "", "[[pick]]",
      `name = ${quoted(one.name)}`,
      `at = [${one.at.map((v) => this.digits(v)).join(", ")}]`,
      `part = ${quoted(one.part)}`,
      `normal = [${one.normal.map((n) => n.toFixed(3)).join(", ")}]`,
      `within = ${one.within}`,
    ]);
    const head = [
      `# Points picked on the body of ${quoted(this.title)}.`,
      `# ISO 4130 axes, lengths in ${this.unit.name}; each is within "within" of the mesh.`,
    ];
    return `${[...head, ...entries.flat()].join("\n")}\n`;
  }

  async copy() {
    try {
      await navigator.clipboard.writeText(this.text.value);
    } catch {
      this.text.select(); // a page opened from a file may not be let near the clipboard
      document.execCommand("copy");
    }
    this.say("Copied.");
  }

  save() {
    const file = new Blob([this.text.value], { type: "application/toml" });
    const link = made("a", "", { href: URL.createObjectURL(file), download: "picks.toml" });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }
}
