/* Drawing with WebGL 2: the body, the keep-outs with a hatch for each reason, the cables as lines of even width. */

const PAPER = [0.985, 0.985, 0.975];
const TAPE = [0.72, 0, 0.31];
const INK = [0.082, 0.098, 0.11];
const KIND_TINT = [[0.6, 0.66, 0.7], [0.74, 0.68, 0.58], [0.63, 0.63, 0.63], [0.72, 0.72, 0.72]];
const HATCHES = { hot: [1, 1], moving: [1, -1], fuel: [1, 0], airbag: [0, 1], "high-voltage": [2, 1], sharp: [1, 2] };

const SHEET_VERTEX = `#version 300 es
layout(location=0) in vec3 corner; uniform mat4 view; uniform vec3 low; uniform float step_m; out vec3 at;
void main() { at = low + step_m * corner; gl_Position = view * vec4(at, 1.0); }`;

const SHEET_FRAGMENT = `#version 300 es
precision highp float;
in vec3 at; out vec4 ink; uniform vec3 tint, eye; uniform vec2 cut, hatch; uniform float cover; uniform bool flat_on;
void main() {
  if (at.x < cut.x || at.z > cut.y) discard;
  if (flat_on) { ink = vec4(tint, cover); return; }
  float facing = abs(dot(normalize(cross(dFdx(at), dFdy(at))), normalize(eye - at)));
  float a = cover >= 1.0 ? 1.0 : min(cover * mix(1.9, 0.75, facing), 0.95);
  if (hatch != vec2(0.0)) a *= mod(dot(gl_FragCoord.xy, normalize(hatch)), 9.0) < 2.5 ? 2.0 : 0.8;
  ink = vec4(tint * mix(0.5, 1.12, facing), a);
}`;

const LINE_VERTEX = `#version 300 es
layout(location=0) in vec4 a; layout(location=1) in vec4 b;
uniform mat4 view; uniform vec2 size; uniform float reach; out vec2 along; out vec2 run; out float len;
void main() {
  vec4 p = view * vec4(a.xyz, 1.0), q = view * vec4(b.xyz, 1.0); run = vec2(a.w, b.w); along = vec2(0.0); len = 0.0;
  if (max(p.w, q.w) < ${NEAR_M}) { gl_Position = vec4(2.0, 2.0, 2.0, 1.0); return; }
  float t = (${NEAR_M} - p.w) / (q.w - p.w);
  if (p.w < ${NEAR_M}) { p = mix(p, q, t); run.x = mix(run.x, run.y, t); }
  else if (q.w < ${NEAR_M}) { q = mix(p, q, t); run.y = mix(run.x, run.y, t); }
  vec2 from = p.xy / p.w * size * 0.5, way = q.xy / q.w * size * 0.5 - from;
  len = length(way); way = len > 1e-4 ? way / len : vec2(1.0, 0.0);
  along = vec2((gl_VertexID & 1) == 0 ? -reach : len + reach, gl_VertexID < 2 ? -reach : reach);
  vec2 to = from + way * along.x + vec2(-way.y, way.x) * along.y;
  float depth = mix(p.z / p.w, q.z / q.w, clamp(along.x / max(len, 1e-4), 0.0, 1.0));
  gl_Position = vec4(to / (size * 0.5), depth, 1.0);
}`;

const LINE_FRAGMENT = `#version 300 es
precision highp float;
in vec2 along; in vec2 run; in float len; out vec4 ink;
uniform vec3 colour, rim; uniform vec2 dash; uniform float reach, core, cover;
void main() {
  float x = clamp(along.x, 0.0, len), off = length(along - vec2(x, 0.0));
  if (off > reach) discard;
  float at = mix(run.x, run.y, len > 0.0 ? x / len : 0.0);
  bool drawn = dash.y <= 0.0 || mod(at, dash.x + dash.y) < dash.x;
  vec3 inside = drawn ? colour : vec3(1.0);
  ink = vec4(mix(inside, rim, smoothstep(core - 0.5, core + 0.5, off)), cover * clamp(reach - off, 0.0, 1.0));
}`;

function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made));
  const at = {};
  for (let k = 0; k < gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS); k += 1) {
    const name = gl.getActiveUniform(made, k).name;
    at[name] = gl.getUniformLocation(made, name);
  }
  return { made, at };
}

/* Curves as one buffer of points with their running length; each curve knows its first point and its segments. */
function strung(curves) {
  const values = [];
  const places = curves.map((run) => {
    const first = values.length / 4;
    let length = 0;
    for (let k = 0; k < run.length; k += 3) {
      if (k) length += Math.hypot(run[k] - run[k - 3], run[k + 1] - run[k - 2], run[k + 2] - run[k - 1]);
      values.push(run[k], run[k + 1], run[k + 2], length);
    }
    return { first, segments: Math.max(run.length / 3 - 1, 0) };
  });
  return { values: new Float32Array(values), places };
}

/* The rim of a hole at its size. */
function ring({ at, axis, radius }) {
  const across = cross(axis, Math.abs(axis[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0]);
  const size = radius / (Math.hypot(...across) || 1);
  const other = cross(axis, across);
  return Array.from({ length: 25 }, (_, k) => {
    const turn = (k * Math.PI) / 12;
    return plus(plus(at, across, size * Math.cos(turn)), other, size * Math.sin(turn));
  }).flat();
}

/* All twelve edges of a box in one go; some twice. */
const BOX_WAY = [0, 1, 3, 2, 0, 4, 5, 1, 5, 7, 3, 7, 6, 2, 6, 4];
const boxed = (b) => BOX_WAY.flatMap((k) => [b[k & 1 ? 3 : 0], b[k & 2 ? 4 : 1], b[k & 4 ? 5 : 2]]);

class Drawing {
  constructor(gl, scene) {
    this.gl = gl;
    this.sheet = program(gl, SHEET_VERTEX, SHEET_FRAGMENT);
    this.line = program(gl, LINE_VERTEX, LINE_FRAGMENT);
    const { body } = scene;
    this.body = body;
    this.wide = body.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT;
    this.bodyFaces = this.sheets(body.levels, gl.UNSIGNED_SHORT, body.faces);
    this.bodyEdges = this.sheets(body.levels, gl.UNSIGNED_SHORT, body.edges);
    this.keepOuts = scene.keepOuts.map((k) => ({
      ...k,
      count: k.faces.length,
      shape: this.sheets(new Float32Array(k.points), gl.FLOAT, new Uint32Array(k.faces)),
    }));
    // thin lines: what each belongs to decides whether it is shown
    const thin = [
      ...scene.holes.map((h, number) => [{ list: "holes", number }, ring(h)]),
      ...(scene.rims || []).map((r, number) => [{ list: "rims", number }, ring({ ...r, radius: r.diameter / 2 })]),
      ...scene.spaces.flatMap((s, number) => s.boxes.map((b) => [{ list: "spaces", number }, boxed(b)])),
    ];
    const runs = [scene.cables, scene.spans, scene.bundles, scene.tapes].map((list) => list.map((one) => one.run));
    runs.push(thin.map(([, run]) => run));
    const { values, places } = strung(runs.flat());
    [this.cablePlaces, this.spanPlaces, this.bundlePlaces, this.tapePlaces, this.thinPlaces] =
      runs.map((r) => places.splice(0, r.length));
    this.checks = scene.tapes.map((t) => t.check);
    this.thin = thin.map(([key]) => key);
    this.lines = gl.createVertexArray();
    gl.bindVertexArray(this.lines);
    gl.bindBuffer(gl.ARRAY_BUFFER, (this.strung = gl.createBuffer()));
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    for (const k of [0, 1]) {
      gl.enableVertexAttribArray(k);
      gl.vertexAttribDivisor(k, 1);
    }
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.polygonOffset(1, 1);
  }

  sheets(points, kind, index) {
    const gl = this.gl;
    const shape = gl.createVertexArray();
    gl.bindVertexArray(shape);
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, points, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, kind, false, 0, 0);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, index, gl.STATIC_DRAW);
    return shape;
  }

  /* One frame. `shown` says what: see view.js. */
  frame(camera, shown) {
    const gl = this.gl;
    const view = camera.matrix();
    gl.viewport(0, 0, gl.canvas.width, gl.canvas.height);
    gl.clearColor(...PAPER, 1);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.useProgram(this.sheet.made);
    const u = this.sheet.at;
    gl.uniformMatrix4fv(u.view, false, view);
    gl.uniform3fv(u.eye, camera.eye);
    gl.uniform2fv(u.cut, shown.cut);
    const solid = shown.cover >= 1;
    if (shown.cover > 0) this.drawBody(u, shown, solid);
    this.drawKeepOuts(u, shown);
    if (!solid) gl.clear(gl.DEPTH_BUFFER_BIT);
    this.drawCables(view, camera, shown, solid);
  }

  drawBody(u, shown, solid) {
    const gl = this.gl;
    gl.uniform3fv(u.low, this.body.low);
    gl.uniform1f(u.step_m, this.body.step);
    gl.uniform2f(u.hatch, 0, 0);
    gl[solid ? "enable" : "disable"](gl.DEPTH_TEST);
    gl[solid ? "disable" : "enable"](gl.BLEND);
    gl.depthFunc(gl.LEQUAL);
    gl.enable(gl.POLYGON_OFFSET_FILL);
    this.kinds(u, shown, this.bodyFaces, this.body.faceEnds, gl.TRIANGLES, 3, shown.cover, 0);
    gl.disable(gl.POLYGON_OFFSET_FILL);
    gl.enable(gl.BLEND);
    const edges = Math.min(0.2 + shown.cover, 0.6) * Math.min(shown.cover * 20, 1);
    this.kinds(u, shown, this.bodyEdges, this.body.edgeEnds, gl.LINES, 2, edges, 1);
  }

  kinds(u, shown, shape, ends, mode, each, cover, flat) {
    const gl = this.gl;
    gl.bindVertexArray(shape);
    gl.uniform1i(u.flat_on, flat);
    gl.uniform1f(u.cover, cover);
    ends.forEach((end, k) => {
      const first = k ? ends[k - 1] : 0;
      if (!shown.kinds[k] || end === first) return;
      gl.uniform3fv(u.tint, flat ? KIND_TINT[k].map((v) => v * 0.55) : KIND_TINT[k]);
      gl.drawElements(mode, (end - first) * each, this.wide, first * each * (this.body.wide ? 4 : 2));
    });
  }

  drawKeepOuts(u, shown) {
    const gl = this.gl;
    gl.disable(gl.DEPTH_TEST);
    gl.enable(gl.BLEND);
    gl.uniform3f(u.low, 0, 0, 0);
    gl.uniform1f(u.step_m, 1);
    gl.uniform1i(u.flat_on, 0);
    this.keepOuts.forEach((k, number) => {
      if (!shown.reasons.has(k.reason)) return;
      const chosen = shown.lit && shown.lit.list === "keepOuts" && shown.lit.number === number;
      gl.uniform1f(u.cover, chosen ? 0.45 : 0.13);
      gl.uniform2fv(u.hatch, HATCHES[k.reason] || [3, 1]);
      gl.uniform3fv(u.tint, k.tint.map((v) => v / 255));
      gl.bindVertexArray(k.shape);
      gl.drawElements(gl.TRIANGLES, k.count, gl.UNSIGNED_INT, 0);
    });
  }

  drawCables(view, camera, shown, solid) {
    const gl = this.gl;
    const u = this.line.at;
    gl.useProgram(this.line.made);
    gl.bindVertexArray(this.lines);
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.BLEND);
    gl.uniformMatrix4fv(u.view, false, view);
    gl.uniform2f(u.size, gl.canvas.width, gl.canvas.height);
    const px = gl.canvas.height / camera.height;
    const unit = 2 ** Math.round(Math.log2(camera.metresInPixel() * 11));
    const lit = shown.lit && shown.lit.list === "cables" ? shown.lit.number : -1;
    const each = (cover, only) =>
      shown.cables.forEach((c, k) => {
        if (!c.on || (k === lit) !== only) return;
        gl.uniform2f(u.dash, c.dash[0] * unit, c.dash[1] * unit);
        this.drawLine(u, this.cablePlaces[k], c.rgb, (only ? 4.2 : 2.1) * px, (only ? 1.8 : 0.9) * px, only ? 1 : cover);
      });
    const others = lit < 0 ? 1 : 0.3;
    gl.depthFunc(gl.ALWAYS);
    gl.depthMask(false);
    gl.uniform2f(u.dash, 1, 0);
    this.bundlePlaces.forEach((place, number) => {
      if (shown.has({ list: "bundles", number })) this.drawLine(u, place, [0.8, 0.82, 0.83], 6 * px, 1.2 * px, 0.85);
    });
    gl.depthMask(true);
    if (solid) {
      gl.depthFunc(gl.GREATER);
      gl.depthMask(false);
      each(0.4 * others, false);
      gl.depthMask(true);
    }
    gl.depthFunc(gl.LEQUAL);
    each(others, false);
    gl.depthFunc(gl.ALWAYS);
    each(1, true);
    gl.uniform2f(u.dash, 1, 0);
    this.spanPlaces.forEach((place, number) => {
      if (shown.has({ list: "spans", number })) this.drawLine(u, place, [1, 1, 1], 1.2 * px, 4 * px, 1);
    });
    this.tapePlaces.forEach((place, number) => {
      if (!shown.has({ list: "tapes", number })) return;
      gl.uniform2f(u.dash, unit, this.checks[number] ? unit : 0); // the one to check by is dashed
      this.drawLine(u, place, TAPE, 1.1 * px, 0.6 * px, 1);
    });
    gl.uniform2f(u.dash, 1, 0);
    this.thinPlaces.forEach((place, k) => {
      if (shown.has(this.thin[k])) this.drawLine(u, place, INK, 0.4 * px, 0.5 * px, 0.7);
    });
  }

  drawLine(u, place, colour, core, rim, cover) {
    const gl = this.gl;
    const { first, segments } = place;
    if (!segments) return;
    gl.bindBuffer(gl.ARRAY_BUFFER, this.strung);
    gl.vertexAttribPointer(0, 4, gl.FLOAT, false, 16, first * 16);
    gl.vertexAttribPointer(1, 4, gl.FLOAT, false, 16, first * 16 + 16);
    gl.uniform3fv(u.colour, colour);
    gl.uniform3fv(u.rim, INK);
    gl.uniform1f(u.core, core);
    gl.uniform1f(u.reach, core + rim);
    gl.uniform1f(u.cover, cover);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, segments);
  }
}
