"use strict";
/* Space and camera. Metres; X to the rear, Y to the right of the vehicle, Z up, as the plan has them. */

const HALF_FIELD = Math.tan((13 * Math.PI) / 180); // half the height of the picture, one metre away
const NEAR_M = 0.02;
const WHOLE_ROOM = 1.1; // the whole vehicle, and a tenth of it round it

const byId = (id) => document.getElementById(id);
const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text }, more);

function unpacked(text, Kind) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let k = 0; k < raw.length; k += 1) bytes[k] = raw.charCodeAt(k);
  return new Kind(bytes.buffer);
}

const plus = (a, b, by = 1) => [a[0] + b[0] * by, a[1] + b[1] * by, a[2] + b[2] * by];
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const between = (low, value, high) => Math.min(Math.max(value, low), high);

/* Lowest and highest corner of runs of x, y, z. */
function extent(runs) {
  const [low, high] = [[Infinity, Infinity, Infinity], [-Infinity, -Infinity, -Infinity]];
  for (const run of runs) {
    run.forEach((v, k) => {
      low[k % 3] = Math.min(low[k % 3], v);
      high[k % 3] = Math.max(high[k % 3], v);
    });
  }
  return low[0] > high[0] ? [[0, 0, 0], [1, 1, 1]] : [low, high];
}

/* Looks at a point from a distance, turned about the upright axis and tilted against the ground. */
class Camera {
  /* `points`: runs of x, y, z that a view of the whole vehicle has to hold. */
  constructor(points) {
    this.points = points;
    const [low, high] = extent([points]);
    this.reach = Math.hypot(...minus(high, low)) / 2 || 1;
    this.width = this.height = 1;
    this.look(-1, -1.15, 0.75);
  }

  /* Turn to look from a direction and bring the whole vehicle into the picture. */
  look(x, y, z) {
    this.turn = Math.hypot(x, y) > 0 ? Math.atan2(y, x) : -Math.PI / 2;
    this.tilt = Math.atan2(z, Math.hypot(x, y));
    this.whole();
  }

  whole() {
    this.fit(this.points, WHOLE_ROOM);
    this.free = false;
  }

  /* Move so that the points fill the picture, with so much room round them. `free`: it has been moved since. */
  fit(points, room) {
    this.free = true;
    const [low, high] = extent([points]);
    this.at = low.map((v, k) => (v + high[k]) / 2);
    this.far = 3 * Math.hypot(...minus(high, low)) + 1;
    this.axes();
    const across = HALF_FIELD * (this.width / this.height);
    for (let pass = 0; pass < 3; pass += 1) {
      const [x, y] = [[Infinity, -Infinity], [Infinity, -Infinity]];
      for (let k = 0; k < points.length; k += 3) {
        const off = minus([points[k], points[k + 1], points[k + 2]], this.at);
        const depth = Math.max(this.far - dot(this.back, off), NEAR_M);
        for (const [axis, range] of [[this.right, x], [this.up, y]]) {
          const tangent = dot(axis, off) / depth;
          range[0] = Math.min(range[0], tangent);
          range[1] = Math.max(range[1], tangent);
        }
      }
      this.at = plus(this.at, this.right, (this.far * (x[0] + x[1])) / 2);
      this.at = plus(this.at, this.up, (this.far * (y[0] + y[1])) / 2);
      this.far *= (room / 2) * Math.max((x[1] - x[0]) / across, (y[1] - y[0]) / HALF_FIELD);
      this.far = Math.max(this.far, 0.3);
    }
  }

  axes() {
    const [c, s] = [Math.cos(this.turn), Math.sin(this.turn)];
    const [ct, st] = [Math.cos(this.tilt), Math.sin(this.tilt)];
    this.back = [ct * c, ct * s, st];
    this.right = [-s, c, 0];
    this.up = cross(this.back, this.right);
  }

  /* The matrix of the picture, column by column; called once for each frame. */
  matrix() {
    this.axes();
    this.eye = plus(this.at, this.back, this.far);
    const near = Math.max(NEAR_M, this.far - 2 * this.reach);
    const last = this.far + 2 * this.reach;
    const [fx, fy] = [this.height / this.width / HALF_FIELD, 1 / HALF_FIELD];
    const [depth, shift] = [(last + near) / (near - last), (2 * last * near) / (near - last)];
    const m = new Float32Array(16);
    for (let k = 0; k < 3; k += 1) {
      m[4 * k] = fx * this.right[k];
      m[4 * k + 1] = fy * this.up[k];
      m[4 * k + 2] = depth * this.back[k];
      m[4 * k + 3] = -this.back[k];
    }
    const [x, y, z] = [dot(this.right, this.eye), dot(this.up, this.eye), dot(this.back, this.eye)];
    m.set([-fx * x, -fy * y, -depth * z + shift, z], 12);
    return m;
  }

  /* From a point to pixels, x to the right and y down; null for one behind the eye. */
  seen(p) {
    const off = minus(p, this.eye);
    const w = -dot(this.back, off);
    if (w < NEAR_M) return null;
    const size = this.height / 2 / HALF_FIELD / w;
    return [this.width / 2 + size * dot(this.right, off), this.height / 2 - size * dot(this.up, off)];
  }

  /* From a pixel into the picture: a direction, one metre deep. */
  ray(x, y) {
    const size = (2 * HALF_FIELD) / this.height;
    const out = plus(this.back.map((v) => -v), this.right, (x - this.width / 2) * size);
    return plus(out, this.up, (this.height / 2 - y) * size);
  }

  metresInPixel() {
    return (2 * HALF_FIELD * this.far) / this.height;
  }

  move(dx, dy) {
    this.free = true;
    const size = this.metresInPixel();
    this.at = plus(plus(this.at, this.right, -dx * size), this.up, dy * size);
  }

  rotate(dx, dy) {
    this.free = true;
    this.turn -= dx * 0.008;
    this.tilt = between(-Math.PI / 2, this.tilt + dy * 0.008, Math.PI / 2);
  }

  zoom(by) {
    this.free = true;
    this.far = between(0.15, this.far * by, 8 * this.reach);
  }
}

/* The first face a ray meets: its number and how far along the ray; null for none.
   (Moeller and Trumbore, Journal of Graphics Tools 2(1), 1997.) */
function firstFace(body, from, way, mayMeet) {
  const { corners: c, faces } = body;
  let best = null;
  for (let f = 0; f < faces.length / 3; f += 1) {
    const [i, j, k] = [3 * faces[3 * f], 3 * faces[3 * f + 1], 3 * faces[3 * f + 2]];
    const [ux, uy, uz] = [c[j] - c[i], c[j + 1] - c[i + 1], c[j + 2] - c[i + 2]];
    const [vx, vy, vz] = [c[k] - c[i], c[k + 1] - c[i + 1], c[k + 2] - c[i + 2]];
    const [px, py, pz] = [way[1] * vz - way[2] * vy, way[2] * vx - way[0] * vz, way[0] * vy - way[1] * vx];
    const size = ux * px + uy * py + uz * pz;
    if (Math.abs(size) < 1e-14) continue;
    const [tx, ty, tz] = [from[0] - c[i], from[1] - c[i + 1], from[2] - c[i + 2]];
    const u = (tx * px + ty * py + tz * pz) / size;
    if (u < 0 || u > 1) continue;
    const [qx, qy, qz] = [ty * uz - tz * uy, tz * ux - tx * uz, tx * uy - ty * ux];
    const v = (way[0] * qx + way[1] * qy + way[2] * qz) / size;
    if (v < 0 || u + v > 1) continue;
    const depth = (vx * qx + vy * qy + vz * qz) / size;
    if (depth < NEAR_M || (best && depth >= best.depth)) continue;
    const point = plus(from, way, depth);
    if (!mayMeet(f, point)) continue;
    const normal = cross([ux, uy, uz], [vx, vy, vz]);
    const towards = (dot(normal, way) > 0 ? -1 : 1) / (Math.hypot(...normal) || 1);
    best = { face: f, depth, point, normal: normal.map((n) => n * towards) };
  }
  return best;
}
