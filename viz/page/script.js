'use strict';
// Draws a run that was computed beforehand: everything is to scale, every number is the run's own.
const D = JSON.parse(document.getElementById('data').textContent);
const decode = c => {
  const raw = atob(c.data), n = raw.length / 2, out = new Float32Array(n), k = (c.high - c.low) / 65534;
  for (let i = 0; i < n; ++i) {
    const v = raw.charCodeAt(2 * i) | (raw.charCodeAt(2 * i + 1) << 8);
    out[i] = v === 65535 ? NaN : c.low + k * v;
  }
  return out;
};
const C = {};
for (const name in D.channels) C[name] = decode(D.channels[name]);
const T = C.time, first = T[0], last = T[T.length - 1];
let time = first, playing = false, slow = 50, chosen = '', hits = [];
const row = t => {
  let a = 0, b = T.length - 1;
  while (b - a > 1) { const m = (a + b) >> 1; if (T[m] <= t) a = m; else b = m; }
  return a;
};
const at = (name, t = time) => {
  const c = C[name];
  if (!c) return NaN;
  const i = row(t), u = Math.min(1, Math.max(0, (t - T[i]) / (T[i + 1] - T[i])));
  return Number.isNaN(c[i]) ? c[i + 1] : Number.isNaN(c[i + 1]) ? c[i] : c[i] + u * (c[i + 1] - c[i]);
};
const or = (v, other) => Number.isFinite(v) ? v : other;
const cycleAt = t => { let k = -1; D.cycles.forEach((c, i) => { if (c.start <= t) k = i; }); return k; };
const figures = v => Math.abs(v) >= 100 ? v.toFixed(0) : Math.abs(v) >= 10 ? v.toFixed(1) : v.toFixed(2);
const lambda = v => !Number.isFinite(v) ? '–' : v > 5 ? 'no fuel' : v.toFixed(2);

const drawing = document.getElementById('drawing'), graph = document.getElementById('graph');
const size = c => {
  const r = window.devicePixelRatio || 1, w = c.clientWidth, h = c.clientHeight;
  if (c.width !== Math.round(w * r) || c.height !== Math.round(h * r)) { c.width = Math.round(w * r); c.height = Math.round(h * r); }
  const g = c.getContext('2d');
  g.setTransform(r, 0, 0, r, 0, 0);
  g.clearRect(0, 0, w, h);
  return [g, w, h];
};
const K = D.colors;
// Pressure [Pa] above the air outside: dark below, light above, as in the legend.
const pressure = p => {
  if (!Number.isFinite(p)) p = D.ambient;
  const x = Math.asinh((p - D.ambient) / 1e3) / Math.asinh(90), u = Math.min(1, Math.max(0, 0.5 + 0.5 * x)) * 8;
  const i = Math.min(7, Math.floor(u)), f = u - i, a = D.pressures[i], b = D.pressures[i + 1];
  return `rgb(${[0, 1, 2].map(k => Math.round(a[k] + f * (b[k] - a[k]))).join()})`;
};

function stage(g, box, world) {
  const s = Math.min(box.w / (world.right - world.left), box.h / (world.top - world.bottom));
  const x = v => box.x + box.w / 2 + (v - (world.left + world.right) / 2) * s;
  const y = v => box.y + box.h / 2 - (v - (world.top + world.bottom) / 2) * s;
  const rect = (l, b, r, t, fill, line) => {
    if (fill) { g.fillStyle = fill; g.fillRect(x(l), y(t), (r - l) * s, (t - b) * s); }
    if (line) { g.strokeStyle = line; g.lineWidth = 1; g.strokeRect(x(l), y(t), (r - l) * s, (t - b) * s); }
  };
  const poly = (points, fill, line) => {
    g.beginPath();
    points.forEach(([a, b], i) => i ? g.lineTo(x(a), y(b)) : g.moveTo(x(a), y(b)));
    if (fill) { g.closePath(); g.fillStyle = fill; g.fill(); }
    if (line) { g.strokeStyle = line; g.lineWidth = 1.5; g.stroke(); }
  };
  const part = (name, l, b, r, t, index = 0) => {
    hits.push({name, index, x: x(l), y: y(t), w: (r - l) * s, h: (t - b) * s});
    if (chosen === name) { g.strokeStyle = K.text; g.lineWidth = 2.5; g.strokeRect(x(l) - 3, y(t) - 3, (r - l) * s + 6, (t - b) * s + 6); }
  };
  return {x, y, s, rect, poly, part};
}

function carburetor(g, box) {
  const P = D.plan, G = D.geometry, S = stage(g, box, P);
  const fuel = (l, b, r, t, c) => { if (t > b) S.rect(l, b, r, t, c); };
  const pipe = (l, b, r, t) => S.rect(l, b, r, t, K.background, K.edge);
  // Body and bowl.
  S.rect(P.bowl_right, P.low, P.right_of_body, P.floor, K.body);
  const level = or(at('bowl_level'), G.set_level);
  S.rect(P.bowl_left - 2e-3, P.bowl_floor - 2e-3, P.bowl_right + 2e-3, P.bowl_top + 2e-3, K.metal);
  S.rect(P.bowl_left, P.bowl_floor, P.bowl_right, P.bowl_top, pressure(D.ambient));
  fuel(P.bowl_left, P.bowl_floor, P.bowl_right, Math.min(level, P.bowl_top), K.fuel);
  const w = P.bowl_right - P.bowl_left;
  S.rect(P.bowl_left + 0.12 * w, Math.max(P.bowl_floor, level - 8e-3), P.bowl_left + 0.7 * w, level + 4e-3, K.background, K.edge);
  S.part('bowl', P.bowl_left, P.bowl_floor, P.bowl_right, P.bowl_top);
  // Bore, shaded by pressure from the horn to the plate and behind it.
  const n = 90, from = P.horn - 6e-3, lift = Math.max(0, or(at('piston_lift'), 0));
  const stations = [[P.horn, 'airbox_pressure'], [P.choke_x, 'inlet_pressure'], [P.throat_x, 'throat_pressure'], [P.throat_x + P.throat_half, 'mixing_pressure']].map(([x, c]) => [x, or(at(c), D.ambient)]);
  const shade = x => {
    if (x >= 0) return pressure(at('manifold_pressure'));
    let a = stations[0];
    for (const b of stations) { if (x < b[0]) return pressure(b === a ? a[1] : a[1] + (b[1] - a[1]) * Math.max(0, (x - a[0]) / (b[0] - a[0]))); a = b; }
    return pressure(a[1]);
  };
  const low = i => P.walls[i][1], wx = i => P.walls[i][0];
  for (let i = 0; i + 1 < P.walls.length; ++i) {
    const x = wx(i), x2 = wx(i + 1), slide = G.piston && Math.abs(x - P.throat_x) < P.throat_half;
    const top = 2 * P.axis - low(i), cut = slide ? Math.min(top, P.floor + G.rest_gap + lift) : top;
    if (x >= P.horn) { S.rect(x, low(i) - 2.2e-3, x2 + 4e-4, low(i), K.metal); if (!slide) S.rect(x, top, x2 + 4e-4, top + 2.2e-3, K.metal); }
    // On whole pixels, so that no seams show.
    const px = Math.floor(S.x(x)), end = Math.ceil(S.x(x2));
    g.fillStyle = shade(x); g.fillRect(px, S.y(cut), end - px, S.y(low(i)) - S.y(cut));
  }
  S.part('throat', P.throat_x - P.throat_half, P.floor, P.throat_x + P.throat_half, P.roof);
  // Slow circuit.
  const slow = P.slow_channel, h = Math.max(P.slow_half, 6e-4);
  pipe(P.slow_air_x - 6e-4, slow - h, P.idle_x + h, slow + h);
  pipe(P.slow_x - h, P.slow_feed - h, P.slow_x + h, slow);
  pipe(P.slow_from, P.slow_feed - h, P.slow_x + h, P.slow_feed + h);
  fuel(P.slow_from, P.slow_feed - h, P.slow_x + h, P.slow_feed + h, K.idle);
  fuel(P.slow_x - h, P.slow_feed, P.slow_x + h, slow, K.idle);
  fuel(P.slow_x - h, slow - h, P.idle_x + h, slow, K.idle);
  S.part('slow_jet', P.slow_x - h - 1e-3, P.slow_feed, P.slow_x + h + 1e-3, P.slow_feed + 6e-3);
  G.ports.forEach((p, i) => {
    const r = 0.5 * p.diameter, x = -p.position;
    S.rect(x - r, slow + h, x + r, P.floor, or(at(`port_${i + 1}_fuel_flow`), 0) > 1e-8 ? K.transfer : K.background);
  });
  if (G.ports.length) S.part('transfer_port', -G.ports[G.ports.length - 1].position - 1e-3, slow + h, -G.ports[0].position + 1e-3, P.floor + 1e-3);
  S.rect(P.idle_x - 5e-4, slow + h, P.idle_x + 5e-4, P.floor, or(at('idle_fuel_flow'), 0) > 1e-9 ? K.idle : K.background);
  S.part('idle_outlet', P.idle_x - 2e-3, slow, P.idle_x + 2e-3, P.floor + 2e-3);
  const tip = slow + h - G.screw_back;
  S.poly([[P.idle_x, tip], [P.idle_x + 1.3e-3, tip - 5e-3], [P.idle_x + 1.3e-3, tip - 11e-3], [P.idle_x - 1.3e-3, tip - 11e-3], [P.idle_x - 1.3e-3, tip - 5e-3]], K.edge);
  S.part('mixture_screw', P.idle_x - 2e-3, tip - 11e-3, P.idle_x + 2e-3, tip);
  // Main circuit.
  if (P.needle_foot < P.foot) { S.rect(P.riser_left - 1.6e-3, P.needle_foot - 1.6e-3, P.riser_right + 1.6e-3, P.foot, K.metal); S.rect(P.riser_left, P.needle_foot, P.riser_right, P.foot, K.main); }
  pipe(P.bowl_right, P.gallery - P.gallery_half, P.well_left, P.gallery + P.gallery_half);
  fuel(P.bowl_right, P.gallery - P.gallery_half, P.well_left, P.gallery + P.gallery_half, K.main);
  const free = 0.5 * G.main_jet;
  for (const [a, b] of [[free, P.gallery_half], [-P.gallery_half, -free]]) S.rect(P.well_left - 7e-3, P.gallery + a, P.well_left - 3e-3, P.gallery + b, K.edge);
  S.part('main_jet', P.well_left - 8e-3, P.gallery - P.gallery_half - 1e-3, P.well_left - 2e-3, P.gallery + P.gallery_half + 1e-3);
  const well = or(at('well_level'), G.set_level);
  pipe(P.well_left, P.foot, P.well_right, P.well_top);
  S.rect(P.well_left, P.foot, P.well_right, P.well_top, pressure(at('inlet_pressure')));
  fuel(P.well_left, P.foot, P.well_right, well, K.main);
  pipe(P.riser_left, P.foot, P.riser_right, G.lip);
  const holes = or(at('riser_void_fraction'), 0);
  fuel(P.well_right, P.foot - 5e-4, P.riser_left, P.foot + 2.5e-3, K.main);
  fuel(P.riser_left, P.foot, P.riser_right, holes > 0.005 ? G.lip : Math.min(G.lip, Math.max(well, P.foot)), K.main);
  g.fillStyle = K.background;
  const count = Math.round(40 * holes);
  for (let i = 0; i < count; ++i) {
    const a = (0.618 * i + time * 2) % 1, b = (0.755 * i) % 1;
    g.beginPath(); g.arc(S.x(P.riser_left + (0.15 + 0.7 * b) * (P.riser_right - P.riser_left)), S.y(well + a * (G.lip - well)), Math.max(0.8, 3e-4 * S.s), 0, 7); g.fill();
  }
  G.holes.forEach(y => S.rect(P.well_right, y - 3e-4, P.riser_left, y + 3e-4, y > well ? K.background : K.main));
  S.part('well', P.well_left, P.foot, P.well_right, P.well_top);
  S.part('riser', P.riser_left, P.foot, P.riser_right, P.floor);
  S.part('nozzle', P.riser_left - 1e-3, P.floor - 1e-3, P.riser_right + 1e-3, G.lip + 3e-3);
  // Fuel that leaves the nozzle and the pump, as much as flows now.
  const spray = (x, y, flow, c) => { const k = Math.min(60, Math.round(flow * 1e6 / 60)); g.fillStyle = c; for (let i = 0; i < k; ++i) { const u = ((0.618 * i) % 1 + time * 12) % 1, v = (0.755 * i) % 1 - 0.5; g.fillRect(S.x(x + u * (P.outlet - x)) - 1, S.y(y + v * 6e-3 * Math.sqrt(u) - 2e-3 * u) - 1, 2.4, 2.4); } };
  if (G.pump) {
    const x = P.pump_nozzle_x, out = P.pump_roof - 9e-4;
    S.rect(P.pump_left - 1.5e-3, P.pump_roof - G.pump_stroke - 5.5e-3, P.pump_right + 1.5e-3, P.pump_roof + 1.5e-3, K.metal);
    const rest = P.pump_roof - G.pump_stroke - 1.5e-3, skin = rest + or(at('pump_travel'), 0);
    S.rect(P.pump_left, rest - 2.5e-3, P.pump_right, P.pump_roof, K.background);
    fuel(P.pump_left, skin, P.pump_right, P.pump_roof, K.pump);
    pipe(x - 9e-4, out - 9e-4, x + 9e-4, G.pump_height);
    fuel(x - 9e-4, out - 9e-4, x + 9e-4, G.pump_height, K.pump);
    fuel(x, out - 9e-4, P.pump_left, out + 9e-4, K.pump);
    S.part('pump', P.pump_left, rest - 2e-3, P.pump_right, P.pump_roof);
    spray(x, G.pump_height, or(at('pump_fuel_flow'), 0), K.pump);
  }
  if (G.enrichment) {
    const x = P.enrichment_x;
    pipe(P.bowl_right - 5e-3, P.foot - 9e-3 - 8e-4, x + 8e-4, P.foot - 9e-3 + 8e-4);
    fuel(P.bowl_right - 5e-3, P.foot - 9e-3 - 8e-4, x + 8e-4, P.foot - 9e-3 + 8e-4, K.enrichment);
    pipe(x - 8e-4, P.foot - 9e-3, x + 8e-4, P.floor - 11e-3);
    fuel(x - 8e-4, P.foot - 9e-3, x + 8e-4, P.floor - 11e-3, K.enrichment);
    S.rect(x - 3.5e-3, P.floor - 11e-3, x + 9e-3, P.floor - 3e-3, K.metal);
    S.part('enrichment', x - 3.5e-3, P.floor - 11e-3, x + 9e-3, P.floor);
  }
  spray(P.throat_x, G.lip, or(at('main_fuel_flow'), 0), K.main);
  // Vacuum piston with its needle.
  if (G.piston) {
    const half = 0.5 * G.slide, wide = 0.5 * G.diaphragm, bottom = P.floor + G.rest_gap + lift, skin = P.diaphragm_rest + lift;
    S.rect(P.throat_x - wide - 3e-3, P.roof, P.throat_x + wide + 3e-3, P.chamber_roof + 3e-3, K.metal);
    S.rect(P.throat_x - wide, P.roof + 1.6e-3, P.throat_x + wide, skin, pressure(at('inlet_pressure')));
    S.rect(P.throat_x - wide, skin, P.throat_x + wide, P.chamber_roof, pressure(at('piston_chamber_pressure')));
    S.rect(P.throat_x - half, bottom, P.throat_x + half, skin, K.metal, K.edge);
    S.rect(P.throat_x - half + 1.6e-3, bottom + 3.2e-3, P.throat_x + half - 1.6e-3, skin, pressure(at('piston_chamber_pressure')));
    const points = [], shift = lift + G.needle_raised;
    for (const [x, d] of G.needle) points.push([P.throat_x + d / 2, P.floor - x + shift]);
    points.unshift([P.throat_x + G.needle[0][1] / 2, bottom]);
    S.poly(points.concat(points.slice().reverse().map(([x, y]) => [2 * P.throat_x - x, y])), K.text);
    S.part('vacuum_piston', P.throat_x - half, bottom, P.throat_x + half, skin);
    S.part('needle', P.throat_x - 2e-3, P.needle_foot, P.throat_x + 2e-3, bottom);
  }
  // Choke plate, throttle plate.
  const plate = (x, radius, angle, name) => {
    const c = Math.sin(angle) * radius, d = Math.cos(angle) * radius;
    g.lineCap = 'round'; g.lineWidth = Math.max(2, 1.5e-3 * S.s); g.strokeStyle = K.text;
    g.beginPath(); g.moveTo(S.x(x - c), S.y(P.axis - d)); g.lineTo(S.x(x + c), S.y(P.axis + d)); g.stroke();
    g.fillStyle = K.metal; g.beginPath(); g.arc(S.x(x), S.y(P.axis), 0.4 * G.shaft * S.s, 0, 7); g.fill();
    S.part(name, x - Math.max(3e-3, c), P.axis - radius, x + Math.max(3e-3, c), P.axis + radius);
  };
  if (G.choke) plate(P.choke_x, 0.48 * G.choke_bore, 1.5708 * (1 - or(at('choke'), 0)), 'choke_plate');
  plate(0, 0.5 * G.bore, or(at('plate_angle'), G.idle_stop), 'throttle_plate');
}

function engine(g, box) {
  const E = D.engine, G = D.geometry, S = stage(g, box, E), turn = or(at('crank_angle'), 0);
  S.rect(E.left, E.plenum_bottom - 2e-3, E.plenum_right + 2e-3, E.plenum_top + 2e-3, K.metal);
  S.rect(E.left, E.plenum_bottom, E.plenum_right, E.plenum_top, pressure(at('manifold_pressure')));
  S.part('manifold', E.left, E.plenum_bottom, E.plenum_right, E.plenum_top);
  E.cylinders.forEach((c, k) => {
    S.rect(c.intake - E.runner - 2e-3, 0, c.intake + E.runner + 2e-3, E.plenum_bottom, K.metal);
    S.rect(c.intake - E.runner, 0, c.intake + E.runner, E.plenum_bottom + 1e-3, pressure(at('manifold_pressure')));
    S.part('runner', c.intake - E.runner, 8e-3, c.intake + E.runner, E.plenum_bottom, k);
    g.save();
    g.translate(S.x(c.intake), S.y(0)); g.rotate(-c.tilt); g.translate(-S.x(c.intake), -S.y(0));
    const own = turn - c.firing, r = G.stroke / 2, q = r * Math.sin(own);
    const drop = G.rod + r - r * Math.cos(own) - Math.sqrt(G.rod * G.rod - q * q), crown = -E.clearance - drop, half = G.cylinder / 2, x = c.x;
    const cy = -E.crank_drop, pin = [x + r * Math.sin(own), cy + r * Math.cos(own)];
    if (k === 0 || !E.vee) { g.fillStyle = K.metal; g.beginPath(); g.arc(S.x(x), S.y(cy), E.web * S.s, 0, 7); g.fill(); g.strokeStyle = K.edge; g.lineWidth = 1; g.stroke(); }
    S.rect(x - half - 3e-3, -E.liner, x + half + 3e-3, 3e-3, K.metal);
    S.rect(x - half, -E.liner, x + half, 0, K.background);
    S.rect(x - half, crown, x + half, 0, pressure(at(`cylinder_${k + 1}_pressure`)));
    const burn = or(at(`cylinder_${k + 1}_burn_rate`), 0);
    if (burn > 1e-6) { g.globalAlpha = Math.min(1, Math.sqrt(burn / 0.02)); S.rect(x - half, crown, x + half, 0, K.flame); g.globalAlpha = 1; }
    const ex = x - c.side * E.exhaust_shift;
    S.rect(ex - 0.5 * G.exhaust - 2e-3, 0, ex + 0.5 * G.exhaust + 2e-3, 32e-3, K.metal);
    S.rect(ex - 0.5 * G.exhaust, 0, ex + 0.5 * G.exhaust, 34e-3, pressure(at(`exhaust_${k + 1}_pressure`)));
    S.rect(c.intake - E.runner, 0, c.intake + E.runner, 4e-3, pressure(at('manifold_pressure')));
    for (const [vx, d, lift, name] of [[c.intake, G.intake_valve, at(`cylinder_${k + 1}_intake_lift`), 'intake_valve'], [ex, G.exhaust_valve, at(`cylinder_${k + 1}_exhaust_lift`), 'exhaust_valve']]) {
      const f = -or(lift, 0);
      S.rect(vx - 1.6e-3, f, vx + 1.6e-3, 30e-3, K.text);
      S.poly([[vx - d / 2, f], [vx + d / 2, f], [vx + 2.2e-3, f + 6e-3], [vx - 2.2e-3, f + 6e-3]], K.text);
    }
    S.rect(x - half + 3e-4, crown - E.skirt, x + half - 3e-4, crown, K.metal, K.edge);
    g.lineCap = 'round'; g.strokeStyle = K.edge; g.lineWidth = 11e-3 * S.s;
    g.beginPath(); g.moveTo(S.x(x), S.y(crown - E.pin)); g.lineTo(S.x(pin[0]), S.y(pin[1])); g.stroke();
    g.restore();
    const cos = Math.cos(c.tilt), sin = Math.sin(c.tilt), mx = c.intake + (x - c.intake) * cos + 0.4 * E.liner * sin, my = -0.4 * E.liner * cos;
    S.part('cylinder', mx - 0.8 * half, my - 0.5 * half, mx + 0.8 * half, my + 0.6 * half, k);
  });
}

function graphs() {
  const [g, w, h] = size(graph), left = 44, right = w - 8, rows = D.graphs, total = rows.reduce((s, r) => s + r.weight, 0);
  const X = t => left + (t - first) / (last - first) * (right - left);
  let y0 = 0;
  g.font = '12px sans-serif';
  for (const r of rows) {
    const hh = (h - 18) * r.weight / total, top = y0 + 15, bottom = y0 + hh - 4, Y = v => bottom - (v - r.low) / (r.high - r.low) * (bottom - top);
    g.fillStyle = K.panel; g.fillRect(left, top, right - left, bottom - top);
    if (r.lambda) {
      g.save(); g.beginPath(); g.rect(left, top, right - left, bottom - top); g.clip();
      for (const c of D.cycles) {
        const a = X(c.start), b = X(c.start + c.duration), l = Math.max(top, Y(c.limit));
        g.fillStyle = K.danger_band; g.fillRect(a, top, b - a, l - top);
        g.fillStyle = K.danger; g.fillRect(a, l, b - a, 1.2);
        c.fired.forEach((ok, k) => { if (!ok) { g.fillStyle = K.danger; g.fillRect((a + b) / 2, bottom - 5 - 6 * k, 1.6, 5); } });
      }
      g.fillStyle = K.faint; g.fillRect(left, Y(1), right - left, 1);
      g.restore();
    }
    g.fillStyle = K.faint; g.textAlign = 'right';
    g.fillText(r.lambda ? r.low : figures(r.low).replace(/\.0+$/, ''), left - 4, bottom); g.fillText(r.lambda ? r.high : figures(r.high).replace(/\.0+$/, ''), left - 4, top + 9);
    g.save(); g.beginPath(); g.rect(left, top - 1, right - left, bottom - top + 2); g.clip();
    let base = null;
    for (const s of r.series) {
      const c = C[s.channel]; if (!c) continue;
      g.beginPath(); g.strokeStyle = s.color; g.lineWidth = 1.6; g.setLineDash(s.dash || []);
      const step = Math.max(1, Math.floor(c.length / ((right - left) * 2)));
      for (let i = 0, open = false; i < c.length; i += step) { const v = c[i] * r.factor; if (!Number.isFinite(v)) { open = false; continue; } const yy = Math.max(top - 1, Math.min(bottom + 1, Y(v))); open ? g.lineTo(X(T[i]), yy) : g.moveTo(X(T[i]), yy); open = true; }
      g.stroke(); g.setLineDash([]);
    }
    g.restore();
    g.textAlign = 'left'; g.fillStyle = K.text;
    const values = r.series.filter(s => C[s.channel]).map(s => r.lambda ? lambda(at(s.channel)) : figures(or(at(s.channel) * r.factor, 0))).join('  ');
    g.fillText(`${r.name}  ${values}`, left, top - 4);
    y0 += hh;
  }
  g.fillStyle = K.text; g.fillRect(X(time), 0, 1.5, h - 16);
  g.textAlign = 'center'; g.fillStyle = K.faint;
  for (let i = 0; i <= 4; ++i) { const t = first + (last - first) * i / 4; g.fillText(t.toFixed(2) + ' s', Math.min(right - 16, Math.max(left + 8, X(t))), h - 3); }
}

function show() {
  const [g, w, h] = size(drawing);
  hits = [];
  const tall = h > w;  // a phone: one above the other
  carburetor(g, tall ? {x: 4, y: 4, w: w - 8, h: 0.52 * h - 8} : {x: 6, y: 6, w: 0.68 * w - 12, h: h - 12});
  engine(g, tall ? {x: 4, y: 0.52 * h, w: w - 8, h: 0.48 * h - 6} : {x: 0.68 * w, y: 6, w: 0.32 * w - 6, h: h - 12});
  graphs();
  const number = cycleAt(time), c = D.cycles[number], rpm = at('speed') * 30 / Math.PI;
  document.getElementById('now').textContent = `${time.toFixed(4)} s   ${rpm.toFixed(0)} rpm   throttle ${(100 * at('throttle')).toFixed(0)} %   manifold ${(at('manifold_pressure') / 1e3).toFixed(1)} kPa`;
  const alarm = [];
  // A charge that was trapped in the cycle before burns in this one.
  if (c) c.lambda.forEach((_, k) => {
    const bad = [c, D.cycles[Math.max(0, number - 1)]].find(o => o.filling[k] > 0.35 && (!o.fired[k] || o.lambda[k] > o.own_limit[k]));
    if (bad) alarm.push(`Cylinder ${k + 1}: ${bad.fired[k] ? '' : 'misfire, '}lambda ${lambda(bad.lambda[k])}, lean limit ${bad.own_limit[k].toFixed(2)}`);
  });
  const a = document.getElementById('alarm');
  a.hidden = !alarm.length; a.textContent = 'DANGER  ' + alarm.join('   ');
  const band = document.getElementById('band');
  band.replaceChildren();
  if (c) { const sum = c.flows.reduce((s, f) => s + Math.max(0, f), 0); c.flows.forEach((f, i) => { if (sum > 1e-9 && f / sum > 0.005) { const e = document.createElement('span'), u = document.createElement('b'); e.style.width = 100 * f / sum + '%'; e.style.background = D.circuits[i].color; u.textContent = `${D.circuits[i].name} ${(100 * f / sum).toFixed(0)} %`; if (f / sum > 0.12) e.append(u); band.append(e); } }); }
  document.getElementById('scrub').value = Math.round((time - first) / (last - first) * 10000);
  const e = D.parts[chosen];
  document.getElementById('part').hidden = !e;
  if (e) {
    document.getElementById('part-name').textContent = e.name;
    document.getElementById('part-size').textContent = e.size;
    document.getElementById('part-now').textContent = (e.now || []).map(n => `${n.text} ${or(at(n.channel) * n.factor, 0).toFixed(n.digits)} ${n.unit}`).join(', ');
    document.getElementById('part-duty').textContent = e.duty;
  }
}

let before = 0;
function tick(now) {
  const seconds = Math.min(0.1, (now - before) / 1000);
  before = now;
  if (!playing) return;
  time += seconds / slow;
  if (time >= last) { time = first; }
  show();
  requestAnimationFrame(tick);
}
const play = on => { playing = on; document.getElementById('play').textContent = on ? 'Pause' : 'Play'; if (on) { before = performance.now(); requestAnimationFrame(tick); } };
document.getElementById('play').onclick = () => play(!playing);
document.getElementById('slow').onchange = e => { slow = +e.target.value; };
document.getElementById('scrub').oninput = e => { play(false); time = first + (last - first) * e.target.value / 10000; show(); };
drawing.onclick = e => {
  const box = drawing.getBoundingClientRect(), x = e.clientX - box.left, y = e.clientY - box.top, near = 8;
  const found = hits.filter(p => x > p.x - near && x < p.x + p.w + near && y > p.y - near && y < p.y + p.h + near && D.parts[p.name]).sort((a, b) => a.w * a.h - b.w * b.h)[0];
  chosen = found && found.name !== chosen ? found.name : '';
  show();
};
const seek = e => { const box = graph.getBoundingClientRect(); play(false); time = Math.min(last, Math.max(first, first + (last - first) * (e.clientX - box.left - 44) / (box.width - 52))); show(); };
graph.onpointerdown = e => { graph.setPointerCapture(e.pointerId); seek(e); };
graph.onpointermove = e => { if (e.buttons) seek(e); };
addEventListener('keydown', e => {
  if (e.ctrlKey || e.altKey || e.metaKey) return;
  if (e.key === ' ' && e.target.tagName !== 'BUTTON') { play(!playing); e.preventDefault(); }
  const step = {ArrowRight: 1, ArrowLeft: -1}[e.key];
  if (step && e.target.type !== 'range') { play(false); time = Math.min(last, Math.max(first, time + step * 5e-4)); show(); }
  if (e.key === 'Escape') { chosen = ''; show(); }
});
addEventListener('resize', show);
show();
document.body.dataset.ready = 'yes';
