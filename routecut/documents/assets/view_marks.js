/* Marks and names over the picture: shapes told apart without colour, names that never lie on each other. */

const SHARES = [0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78, 0.14, 0.86];
const AROUND = [[1, 0], [-1, 0], [0, -1], [0, 1], [0.8, -0.8], [-0.8, -0.8], [0.8, 0.8], [-0.8, 0.8]];
const REACHES = [0, 12, 26, 44, 66];
const GAP = 2;

/* The point at a share of the length of a curve. */
function along(run, share) {
  const steps = [];
  let total = 0;
  for (let k = 3; k < run.length; k += 3) {
    steps.push(Math.hypot(run[k] - run[k - 3], run[k + 1] - run[k - 2], run[k + 2] - run[k - 1]));
    total += steps[steps.length - 1];
  }
  let left = total * share;
  let k = 0;
  while (k < steps.length - 1 && left > steps[k]) left -= steps[k++];
  const part = steps[k] ? left / steps[k] : 0;
  return [0, 1, 2].map((j) => run[3 * k + j] + part * (run[3 * k + 3 + j] - run[3 * k + j]));
}

const SHAPES = {
  hole(pen, x, y) {
    pen.arc(x, y, 6, 0, 7);
    pen.fill();
    pen.stroke();
  },
  unused(pen, x, y) {
    pen.arc(x, y, 3.5, 0, 7);
    pen.fill();
    pen.stroke();
  },
  drill(pen, x, y) {
    pen.lineWidth = 3;
    pen.arc(x, y, 7, 0, 7);
    pen.fill();
    pen.moveTo(x - 11, y);
    pen.lineTo(x + 11, y);
    pen.moveTo(x, y - 11);
    pen.lineTo(x, y + 11);
    pen.stroke();
  },
  device(pen, x, y) {
    pen.fillStyle = pen.strokeStyle;
    pen.fillRect(x - 5, y - 5, 10, 10);
  },
  landmark(pen, x, y) {
    pen.moveTo(x, y);
    pen.lineTo(x - 6, y - 11);
    pen.lineTo(x + 6, y - 11);
    pen.closePath();
    pen.fill();
    pen.stroke();
  },
  joint(pen, x, y) {
    pen.moveTo(x - 8, y - 6);
    pen.lineTo(x + 8, y + 6);
    pen.lineTo(x + 8, y - 6);
    pen.lineTo(x - 8, y + 6);
    pen.closePath();
    pen.fill();
    pen.stroke();
  },
  clip(pen, x, y) {
    pen.rect(x - 3, y - 5, 6, 10);
    pen.fill();
    pen.stroke();
  },
  pick(pen, x, y) {
    pen.lineWidth = 3;
    pen.moveTo(x - 7, y - 7);
    pen.lineTo(x + 7, y + 7);
    pen.moveTo(x - 7, y + 7);
    pen.lineTo(x + 7, y - 7);
    pen.stroke();
  },
};

class Marks {
  constructor(canvas, box) {
    this.canvas = canvas;
    this.pen = canvas.getContext("2d");
    this.box = box;
    this.names = [];
    this.placed = [];
    this.spots = [];
  }

  /* A name that can be placed: text only, whatever it holds. */
  name(text, look) {
    const span = document.createElement("span");
    span.className = `name ${look}`;
    span.textContent = text;
    this.box.append(span);
    const made = { span, last: 0, size: null };
    this.names.push(made);
    return made;
  }

  rename(name, text) {
    name.span.textContent = text;
    name.size = null;
  }

  forget(name) {
    name.span.remove();
    this.names.splice(this.names.indexOf(name), 1);
  }

  measure() {
    for (const n of this.names) if (!n.size) n.size = [n.span.offsetWidth, n.span.offsetHeight];
  }

  /* Items: {key, points: anchors in metres, shape, name, named, onTop, most: its furthest reach}; the first choose first. */
  draw(camera, items, ratio) {
    const { pen, canvas } = this;
    this.measure();
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, canvas.width, canvas.height);
    this.placed = [];
    this.spots = [];
    const inside = ([x, y]) => x > 0 && y > 0 && x < camera.width && y < camera.height;
    const wanted = [];
    for (const item of items) {
      const anchors = item.points.map((p) => camera.seen(p)).filter((p) => p && inside(p));
      if (!anchors.length) continue;
      if (item.shape) this.spots.push({ item, at: anchors[0] });
      wanted.push({ item, anchors });
    }
    const used = new Set();
    for (const { item, anchors } of wanted) {
      const spot = item.name && item.named ? this.free(item, anchors, camera) : null;
      if (!spot) continue;
      used.add(item.name);
      item.name.span.style.transform = `translate(${Math.round(spot.left)}px, ${Math.round(spot.top)}px)`;
      this.placed.push({ item, ...spot });
    }
    for (const n of this.names) n.span.classList.toggle("gone", !used.has(n));
    for (const spot of this.placed) this.leader(spot);
    for (const { item, at } of this.spots) this.shape(item, at);
  }

  shape(item, [x, y]) {
    const { pen } = this;
    pen.beginPath();
    pen.lineWidth = 2;
    pen.fillStyle = "#fff";
    pen.strokeStyle = item.shape === "drill" ? "#b8004f" : item.shape === "unused" ? "#6a757c" : "#15191c";
    SHAPES[item.shape](pen, x, y);
    if (!item.lit) return;
    pen.beginPath();
    pen.arc(x, y, 15, 0, 7);
    pen.stroke();
  }

  leader({ left, top, size, anchor: [x, y] }) {
    const to = [between(left, x, left + size[0]), between(top, y, top + size[1])];
    if (to[0] === x && to[1] === y) return;
    this.pen.beginPath();
    this.pen.lineWidth = 1;
    this.pen.strokeStyle = "#454e54";
    this.pen.moveTo(x, y);
    this.pen.lineTo(...to);
    this.pen.stroke();
  }

  /* A free place for a name: where it was last, else nearest to the best of its anchors. */
  free(item, anchors, camera) {
    const { size } = item.name;
    const reaches = REACHES.filter((r) => r <= (item.most || Infinity));
    const tries = reaches.length * AROUND.length * anchors.length;
    const first = item.name.last < tries ? item.name.last : 0;
    for (let t = -1; t < tries; t += 1) {
      const k = t < 0 ? first : t;
      const around = AROUND[k % AROUND.length];
      const anchor = anchors[Math.floor(k / AROUND.length) % anchors.length];
      const reach = reaches[Math.floor(k / AROUND.length / anchors.length)];
      if (reach === 0 && (!item.onTop || around !== AROUND[0])) continue;
      const out = reach === 0 ? [0, 0] : [around[0] * (reach + size[0] / 2), around[1] * (reach + size[1] / 2)];
      const left = anchor[0] + out[0] - size[0] / 2;
      const top = anchor[1] + out[1] - size[1] / 2;
      if (left < GAP || top < GAP || left + size[0] > camera.width - GAP) continue;
      if (top + size[1] > camera.height - GAP || !this.clear(left, top, size, item)) continue;
      item.name.last = k;
      return { left, top, size, anchor };
    }
    return null;
  }

  clear(left, top, size, item) {
    const [right, bottom] = [left + size[0] + GAP, top + size[1] + GAP];
    for (const p of this.placed) {
      if (p.left < right && left - GAP < p.left + p.size[0] && p.top < bottom && top - GAP < p.top + p.size[1]) return false;
    }
    for (const s of this.spots) {
      const [x, y] = s.at;
      if (s.item !== item && x > left - 6 && x < right + 4 && y > top - 6 && y < bottom + 4) return false;
    }
    return true;
  }

  /* What lies under a pixel: a name, else the nearest mark within reach. */
  under(x, y, reach) {
    const named = this.placed.find(
      (p) => x >= p.left && x <= p.left + p.size[0] && y >= p.top && y <= p.top + p.size[1],
    );
    if (named) return named.item.key;
    let [best, far] = [null, reach];
    for (const { item, at } of this.spots) {
      const off = Math.hypot(at[0] - x, at[1] - y);
      if (off < far) [best, far] = [item.key, off];
    }
    return best;
  }
}
