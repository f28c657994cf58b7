/* Mouse, fingers and keys on the view: they turn, move and zoom the camera; what is tapped is told. */

const TAP_PX = 8;
const REACH_PX = { mouse: 10, touch: 18, pen: 14 };
const KEYS = { ArrowLeft: [-40, 0], ArrowRight: [40, 0], ArrowUp: [0, -40], ArrowDown: [0, 40] };

class Hands {
  /* `on`: tap(x, y, reach), hover(x, y, reach), away(), moved(), leave() for the Escape key. */
  constructor(canvas, camera, on) {
    Object.assign(this, { canvas, camera, on, fingers: new Map(), travel: 0, spread: null, before: null });
    const listen = (kind, act, how) => canvas.addEventListener(kind, act, how);
    listen("pointerdown", (e) => this.down(e));
    listen("pointermove", (e) => (this.fingers.has(e.pointerId) ? this.drag(e) : this.hover(e)));
    listen("pointerup", (e) => this.up(e));
    listen("pointercancel", (e) => this.cancel(e));
    listen("pointerleave", () => on.away());
    listen("contextmenu", (e) => e.preventDefault());
    // browsers differ in what `touch-action: pan-y` means for two fingers: they are ours
    for (const kind of ["touchstart", "touchmove"]) {
      listen(kind, (e) => e.touches.length > 1 && e.preventDefault(), { passive: false });
    }
    listen("wheel", (e) => this.wheel(e), { passive: false });
    listen("keydown", (e) => this.key(e));
  }

  place(e) {
    const box = this.canvas.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  /* How far two fingers are apart, and the middle between them. */
  pair() {
    const [a, b] = [...this.fingers.values()];
    return [Math.hypot(a[0] - b[0], a[1] - b[1]) || 1, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  }

  down(e) {
    this.fingers.set(e.pointerId, this.place(e));
    this.canvas.setPointerCapture(e.pointerId);
    if (this.fingers.size === 1) {
      this.travel = 0;
      this.before = { turn: this.camera.turn, tilt: this.camera.tilt };
    } else {
      this.travel = Infinity; // no tap any more
      this.spread = this.pair();
    }
  }

  hover(e) {
    if (e.pointerType === "mouse") this.on.hover(...this.place(e), REACH_PX.mouse);
  }

  drag(e) {
    const [at, last] = [this.place(e), this.fingers.get(e.pointerId)];
    const [dx, dy] = [at[0] - last[0], at[1] - last[1]];
    this.fingers.set(e.pointerId, at);
    this.travel += Math.hypot(dx, dy);
    if (this.fingers.size === 2) {
      const now = this.pair();
      this.camera.zoom(this.spread[0] / now[0]);
      this.camera.move(now[1] - this.spread[1], now[2] - this.spread[2]);
      this.spread = now;
    } else if (this.travel > TAP_PX) {
      const moving = e.shiftKey || e.buttons & 6;
      this.camera[moving ? "move" : "rotate"](dx, dy);
    } else return;
    this.on.moved();
  }

  up(e) {
    const tapped = this.fingers.size === 1 && this.travel <= TAP_PX;
    this.lift(e);
    if (tapped) this.on.tap(...this.place(e), REACH_PX[e.pointerType] || REACH_PX.pen);
  }

  /* The page took the finger to scroll: what it turned on its way is turned back. */
  cancel(e) {
    if (this.fingers.size === 1) Object.assign(this.camera, this.before);
    this.lift(e);
    this.on.moved();
  }

  lift(e) {
    this.fingers.delete(e.pointerId);
    if (this.fingers.size) this.travel = Infinity;
  }

  wheel(e) {
    if (document.activeElement !== this.canvas) return; // the page scrolls until the view is clicked
    e.preventDefault();
    this.camera.zoom(Math.exp(between(-60, e.deltaY, 60) * 0.004));
    this.on.moved();
  }

  key(e) {
    const step = KEYS[e.key];
    if (step && e.shiftKey) this.camera.move(-step[0], -step[1]);
    else if (step) this.camera.rotate(...step);
    else if (e.key === "+" || e.key === "=") this.camera.zoom(0.85);
    else if (e.key === "-") this.camera.zoom(1 / 0.85);
    else if (e.key === "Escape") this.on.leave();
    else return;
    e.preventDefault();
    this.on.moved();
  }
}
