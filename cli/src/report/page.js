'use strict';
// Draws the part at any draw between its states, and keeps numbers, curves and cards together.
(() => {
  const data = JSON.parse(document.getElementById('data').textContent);
  const byId = (id) => document.getElementById(id);

  // ---- what the page carries ------------------------------------------------------------------------
  const bytes = (text) => {
    const raw = atob(text), list = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) list[i] = raw.charCodeAt(i);
    return list.buffer;
  };
  const net = data.net, count = net.points;
  const levels = new Uint16Array(bytes(net.places));
  const places = new Float32Array(2 * count);
  for (let i = 0; i < places.length; i++) places[i] = net.corner[i % 2] + net.place_mm * levels[i];
  const triangles = net.wide ? new Uint32Array(bytes(net.triangles)) : new Uint16Array(bytes(net.triangles));
  const states = [{ state: 0, level: 0, u: null, s: null }].concat(data.states.map((one) => ({
    state: one.state, level: one.level_mm,
    u: new Int16Array(bytes(one.displacements)), s: new Int8Array(bytes(one.stress)),
  })));
  const rows = data.rows, last = rows.length - 1;

  const LOOKUP = 1024, STRESS_LEVELS = 127;
  const lookup = new Uint32Array(LOOKUP);
  const hex = (text) => [1, 3, 5].map((k) => parseInt(text.slice(k, k + 2), 16));
  for (let i = 0; i < LOOKUP; i++) {
    const at = i / (LOOKUP - 1) * (data.heat.length - 1), k = Math.min(Math.floor(at), data.heat.length - 2);
    const a = hex(data.heat[k]), b = hex(data.heat[k + 1]);
    const c = a.map((v, j) => Math.round(v + (at - k) * (b[j] - v)));
    lookup[i] = (255 << 24) | (c[2] << 16) | (c[1] << 8) | c[0];
  }

  // ---- a state between states -----------------------------------------------------------------------
  const now = new Float32Array(2 * count), stress = new Float32Array(3 * count);
  // `s` counts reported states: 2.5 is half-way from the second to the third.
  const settle = (s) => {
    let k = 0;
    while (k + 2 < states.length && states[k + 1].state < s) k++;
    const a = states[k], b = states[Math.min(k + 1, states.length - 1)];
    let t = b.state > a.state ? Math.min(1, Math.max(0, (s - a.state) / (b.state - a.state))) : 0;
    // Where the part snaps nothing lies between the two states.
    if (rows.slice(a.state + 1, b.state + 1).some((row) => row.snaps)) t = Math.round(t);
    for (let i = 0; i < 2 * count; i++) {
      const from = a.u ? a.level * a.u[i] : 0, to = b.u ? b.level * b.u[i] : 0;
      now[i] = places[i] + from + t * (to - from);
    }
    for (let i = 0; i < 3 * count; i++) {
      const from = a.s ? a.s[i] : 0, to = b.s ? b.s[i] : 0;
      stress[i] = (from + t * (to - from)) / STRESS_LEVELS;
    }
  };

  // ---- drawing --------------------------------------------------------------------------------------
  const MOST_PIXELS_BY_CSS = 2, BAND = 22;
  // Paper is white whatever the screen is.
  const PAPER = { '--plate': '#ffffff', '--ink': '#000000', '--edge': '#2b2b33', '--rest': '#a9a9b5', '--held': '#3d6b8e',
    '--driven': '#b3541e', '--mark': '#a3166b' };
  let onPaper = false;
  const colour = (name) => onPaper ? PAPER[name] : getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const hatch = (context, ink, leaning, ratio) => {
    const tile = document.createElement('canvas'), n = Math.round(8 * ratio);
    tile.width = tile.height = n;
    const c = tile.getContext('2d');
    c.globalAlpha = 0.14; c.fillStyle = ink; c.fillRect(0, 0, n, n);
    c.globalAlpha = 0.9; c.strokeStyle = ink; c.lineWidth = 2 * ratio;
    c.beginPath();
    for (const shift of [-n, 0, n]) {
      c.moveTo(shift - 2, leaning > 0 ? n + 2 : -2); c.lineTo(shift + n + 2, leaning > 0 ? -2 : n + 2);
    }
    c.stroke();
    return context.createPattern(tile, 'repeat');
  };

  // Fills the triangles with their stress. Each side is cut at the rows' middles from its upper end, whichever
  // triangle asks, so that neighbours meet without a gap.
  const px = new Float64Array(count), py = new Float64Array(count);
  const fill = (pixels, width, height, view) => {
    for (let i = 0; i < count; i++) {
      px[i] = view.left + view.scale * now[2 * i];
      py[i] = view.top - view.scale * now[2 * i + 1];
    }
    const cut = (i, j, y) => {
      if (py[i] > py[j]) { const k = i; i = j; j = k; }
      return px[i] + (y - py[i]) * (px[j] - px[i]) / (py[j] - py[i]);
    };
    for (let k = 0; k < triangles.length; k += 3) {
      let a = triangles[k], b = triangles[k + 1], c = triangles[k + 2], swap;
      if (py[a] > py[b]) { swap = a; a = b; b = swap; }
      if (py[b] > py[c]) { swap = b; b = c; c = swap; }
      if (py[a] > py[b]) { swap = a; a = b; b = swap; }
      const top = Math.max(0, Math.ceil(py[a] - 0.5)), bottom = Math.min(height, Math.ceil(py[c] - 0.5));
      if (top >= bottom) continue;
      if (Math.max(px[a], px[b], px[c]) < 0 || Math.min(px[a], px[b], px[c]) > width) continue;
      const det = (px[b] - px[a]) * (py[c] - py[a]) - (px[c] - px[a]) * (py[b] - py[a]);
      if (det === 0) continue;
      // Each component is a plane over the page: its value at `a` and its slopes.
      const xb = px[b] - px[a], yb = py[b] - py[a], xc = px[c] - px[a], yc = py[c] - py[a];
      const v0 = stress[3 * a], v1 = stress[3 * a + 1], v2 = stress[3 * a + 2];
      const b0 = stress[3 * b] - v0, b1 = stress[3 * b + 1] - v1, b2 = stress[3 * b + 2] - v2;
      const c0 = stress[3 * c] - v0, c1 = stress[3 * c + 1] - v1, c2 = stress[3 * c + 2] - v2;
      const dx0 = (b0 * yc - c0 * yb) / det, dx1 = (b1 * yc - c1 * yb) / det, dx2 = (b2 * yc - c2 * yb) / det;
      const dy0 = (c0 * xb - b0 * xc) / det, dy1 = (c1 * xb - b1 * xc) / det, dy2 = (c2 * xb - b2 * xc) / det;
      for (let row = top; row < bottom; row++) {
        const y = row + 0.5, one = cut(a, c, y), other = y < py[b] ? cut(a, b, y) : cut(b, c, y);
        const from = Math.max(0, Math.ceil(Math.min(one, other) - 0.5));
        const to = Math.min(width, Math.ceil(Math.max(one, other) - 0.5));
        const ry = y - py[a];
        let rx = from + 0.5 - px[a];
        for (let at = row * width + from, end = row * width + to; at < end; at++, rx++) {
          const p = v0 + dx0 * rx + dy0 * ry, q = v1 + dx1 * rx + dy1 * ry, r = v2 + dx2 * rx + dy2 * ry;
          const size = Math.sqrt(p * p + q * q + r * r);
          pixels[at] = lookup[size < 1 ? (size * (LOOKUP - 1) + 0.5) | 0 : LOOKUP - 1];
        }
      }
    }
  };

  const trace = (context, loops, points, view) => {
    context.beginPath();
    for (const loop of loops) {
      loop.forEach((n, i) => {
        const x = view.left + view.scale * points[2 * n], y = view.top - view.scale * points[2 * n + 1];
        if (i) context.lineTo(x, y); else context.moveTo(x, y);
      });
      context.closePath();
    }
  };

  const arrow = (context, [x0, y0], [x1, y1], ink, ratio) => {
    const size = Math.hypot(x1 - x0, y1 - y0), ux = (x1 - x0) / size, uy = (y1 - y0) / size;
    for (const [line, width] of [[colour('--plate'), 6], [ink, 2.6]]) {
      context.strokeStyle = line; context.lineWidth = width * ratio;
      context.beginPath(); context.moveTo(x0, y0); context.lineTo(x1 - 8 * ratio * ux, y1 - 8 * ratio * uy); context.stroke();
    }
    context.fillStyle = ink;
    context.beginPath();
    for (const [along, across] of [[0, 0], [12, 5.5], [12, -5.5]]) {
      context.lineTo(x1 - ratio * (along * ux + across * uy), y1 - ratio * (along * uy - across * ux));
    }
    context.fill();
  };

  const scaleBar = (context, width, height, view, ratio, widest) => {
    const most = widest / view.scale, power = 10 ** Math.floor(Math.log10(most));
    const mm = [5, 2, 1].map((m) => m * power).find((m) => m <= most), x1 = width - 12 * ratio, y = height - 12 * ratio;
    const x0 = x1 - mm * view.scale;
    context.strokeStyle = context.fillStyle = colour('--ink'); context.lineWidth = 1.4 * ratio;
    context.beginPath();
    for (const x of [x0, x1]) { context.moveTo(x, y - 4 * ratio); context.lineTo(x, y + 4 * ratio); }
    context.moveTo(x0, y); context.lineTo(x1, y); context.stroke();
    context.font = `${12.5 * ratio}px Helvetica, Arial, 'Liberation Sans', sans-serif`;
    context.textAlign = 'right';
    context.fillText(`${mm} mm`, x1, y - 8 * ratio);
  };

  const heat = document.createElement('canvas');
  // One drawing of the part: `window` gives what it shows in mm (x0, y0, x1, y1).
  const picture = (canvas, shape, window_, near) => {
    const ratio = Math.min(window.devicePixelRatio || 1, MOST_PIXELS_BY_CSS);
    const width = Math.max(1, Math.round(canvas.clientWidth * ratio)), height = Math.max(1, Math.round(width * shape + (near ? 0 : BAND * ratio)));
    if (canvas.width !== width || canvas.height !== height) { canvas.width = width; canvas.height = height; }
    const context = canvas.getContext('2d'), [x0, y0, x1, y1] = window_();
    // A band below the whole part is left to the scale bar.
    const pad = near ? 0 : 14 * ratio, band = near ? 0 : BAND * ratio, room = height - band;
    const scale = Math.min((width - 2 * pad) / (x1 - x0), (room - 2 * pad) / (y1 - y0));
    const view = { scale, left: width / 2 - scale * (x0 + x1) / 2, top: room / 2 + scale * (y0 + y1) / 2 };
    context.clearRect(0, 0, width, height);
    // By way of another canvas: printers get an image, but not what is put in as pixels.
    if (heat.width !== width || heat.height !== height) { heat.width = width; heat.height = height; }
    const pen = heat.getContext('2d'), image = pen.createImageData(width, height);
    fill(new Uint32Array(image.data.buffer), width, height, view);
    pen.putImageData(image, 0, 0);
    context.drawImage(heat, 0, 0);
    context.lineJoin = 'round'; context.lineCap = 'round';

    // What lies behind is drawn afterwards, under what is there.
    context.globalCompositeOperation = 'destination-over';
    context.setLineDash([4 * ratio, 3 * ratio]);
    trace(context, net.loops, places, view);
    context.strokeStyle = colour('--rest'); context.lineWidth = ratio; context.stroke();
    context.setLineDash([]);
    context.globalCompositeOperation = 'source-over';

    trace(context, net.loops, now, view);
    context.strokeStyle = colour('--edge'); context.lineWidth = (near ? 1.5 : 1.1) * ratio; context.stroke();
    for (const mark of data.marks) {
      const ink = colour(mark.driven ? '--driven' : '--held');
      trace(context, mark.areas, now, view);
      context.fillStyle = hatch(context, ink, mark.driven ? -1 : 1, ratio); context.fill();
      context.strokeStyle = ink; context.lineWidth = 2.4 * ratio;
      context.beginPath();
      for (const edge of mark.edges) edge.forEach((n, i) => {
        const x = view.left + scale * now[2 * n], y = view.top - scale * now[2 * n + 1];
        if (i) context.lineTo(x, y); else context.moveTo(x, y);
      });
      context.stroke();
    }
    const hot = data.hot.point, at = [view.left + scale * now[2 * hot], view.top - scale * now[2 * hot + 1]];
    if (!near) {
      for (const mark of data.marks.filter((m) => m.arrow)) {
        const [[dx, dy], n] = mark.arrow, size = Math.hypot(dx, dy);
        if (!(size > 0)) continue;
        const half = Math.max(scale * size, 40 * ratio) / 2 / size;
        const x = view.left + scale * now[2 * n], y = view.top - scale * now[2 * n + 1];
        arrow(context, [x - half * dx, y + half * dy], [x + half * dx, y - half * dy], colour('--driven'), ratio);
      }
    }
    const radius = (near ? 13 : 9) * ratio;
    for (const [line, thick] of [[colour('--plate'), 4.5], [colour('--mark'), 2]]) {
      context.strokeStyle = line; context.lineWidth = thick * ratio;
      context.beginPath(); context.arc(at[0], at[1], radius, 0, 2 * Math.PI); context.stroke();
    }
    scaleBar(context, width, height, view, ratio, near ? width / 4 : width / 6);
  };

  const partView = byId('part-view'), closeView = byId('close-view');
  const [bx0, by0, bx1, by1] = data.bounds;
  const shape = Math.min(1.1, Math.max(0.3, (by1 - by0) / (bx1 - bx0) + 0.06));
  const around = () => {
    const x = now[2 * data.hot.point], y = now[2 * data.hot.point + 1], h = data.hot.half;
    return [x - h, y - 0.72 * h, x + h, y + 0.72 * h];
  };
  const draw = () => {
    picture(partView, shape, () => data.bounds, false);
    picture(closeView, 0.72, around, true);
  };

  // ---- numbers --------------------------------------------------------------------------------------
  // As in the text of the page: about three digits.
  const digits = (value) => {
    const size = Math.abs(value);
    if (!Number.isFinite(value)) return 'not a number';
    if (size >= 99.95) return value.toFixed(0);
    if (size >= 9.995) return value.toFixed(1);
    if (size >= 0.0995 || size <= 0) return value.toFixed(2);
    if (size >= 0.001) return value.toFixed(4);
    return value.toExponential(1);
  };
  let factor = 1, position = last;
  const between = (s, pick) => {
    const k = Math.min(Math.floor(s), last - 1), t = s - k, a = pick(rows[k]), b = pick(rows[k + 1]);
    if (t === 0 || rows[k + 1].snaps && t < 0.5) return a;
    if (t === 1 || rows[k + 1].snaps) return b;
    return a === null || b === null ? null : a + t * (b - a);
  };
  const quantities = { energy: [(r) => r.energy, 'mJ', true], stress: [(r) => r.stress, 'MPa', true],
    strain: [(r) => 100 * r.strain, '%', false], lateral: [(r) => r.lateral, 'N/mm', true],
    yaw: [(r) => r.yaw, 'N mm/deg', true], gap: [(r) => r.gap, 'mm', false] };
  data.moving.forEach((region, k) => {
    quantities[`travel-${k}`] = [(r) => r.travel[k], region.units[0], false];
    quantities[`effort-${k}`] = [(r) => r.effort[k], region.units[1], true];
  });
  const svg = (name, parent, cls) => {
    const node = document.createElementNS('http://www.w3.org/2000/svg', name);
    node.setAttribute('class', cls);
    return parent.appendChild(node);
  };
  const runners = data.charts.map((chart) => {
    const root = byId(`chart-${chart.id}`).querySelector('svg');
    return { chart, rule: svg('line', root, 'runner'), dots: chart.lines.map(() => {
      const dot = svg('circle', root, 'runner-dot'); dot.setAttribute('r', 5); return dot;
    }) };
  });
  const run = () => {
    for (const { chart, rule, dots } of runners) {
      const [x, y, w, h] = chart.area;
      chart.lines.forEach((line, k) => {
        const value = (list) => between(position, (row) => list[rows.indexOf(row)]);
        const vx = value(line.x), vy = value(line.y), known = vx !== null && vy !== null;
        dots[k].style.display = known ? '' : 'none';
        if (k === 0) rule.style.display = known ? '' : 'none';
        if (!known) return;
        const px = x + w * (vx - chart.low[0]) / (chart.high[0] - chart.low[0]);
        dots[k].setAttribute('cx', px);
        dots[k].setAttribute('cy', y + h * (1 - (vy - chart.low[1]) / (chart.high[1] - chart.low[1])));
        if (k === 0) for (const [name, v] of [['x1', px], ['x2', px], ['y1', y], ['y2', y + h]]) rule.setAttribute(name, v);
      });
    }
  };
  const tell = () => {
    for (const node of byId('now').querySelectorAll('[data-q]')) {
      const name = node.dataset.q;
      if (name === 'stable') {
        const row = rows[Math.ceil(position)];
        node.textContent = row.stable ? 'stable' : 'not stable';
        continue;
      }
      const [pick, unit, scales] = quantities[name], value = between(position, pick);
      node.textContent = value === null ? '-' : `${digits(scales ? factor * value : value)} ${unit}`;
    }
    const k = Math.floor(position), reported = position === k;
    const snaps = !reported && rows[k + 1].snaps;
    byId('which').textContent = reported
      ? (k === 0 ? 'At rest.' : `Reported state ${k} of ${last}.`)
      : snaps ? `The part snaps between the states ${k} and ${k + 1}: nothing lies between them.`
        : `Between the reported states ${k} and ${k + 1}: interpolated.`;
    const share = between(position, (row) => row.fraction);
    const said = data.moving.map((region, i) =>
      `${region.name} ${digits(between(position, (r) => r.travel[i]))} ${region.units[0]}`).join(', ');
    const text = `${(100 * share).toFixed(share < 1 && share > 0 ? 1 : 0)} % of the draw: ${said}`;
    byId('draw-said').textContent = text;
    slider.setAttribute('aria-valuetext', text);
  };

  // ---- slider ---------------------------------------------------------------------------------------
  const slider = byId('draw'), stops = Number(slider.max) / Math.max(1, last);
  let waiting = false;
  const show = () => {
    waiting = false;
    settle(position);
    draw();
  };
  const later = () => { if (!waiting) { waiting = true; requestAnimationFrame(show); } };
  const move = () => {
    position = Number(slider.value) / stops;
    tell();
    run();
    later();
  };
  slider.addEventListener('input', move);
  byId('slide').hidden = false;
  byId('close').hidden = false;
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', later);
  addEventListener('beforeprint', () => { onPaper = true; show(); });
  addEventListener('afterprint', () => { onPaper = false; later(); });
  new ResizeObserver(later).observe(partView);

  const play = byId('play'), PLAYED_MS = 2600;
  let playing = 0;
  const stop = () => { cancelAnimationFrame(playing); playing = 0; play.textContent = 'Play'; };
  play.addEventListener('click', () => {
    if (playing) { stop(); return; }
    play.textContent = 'Stop';
    const start = performance.now();
    const tick = (time) => {
      const share = Math.min(1, Math.max(0, (time - start) / PLAYED_MS));
      slider.value = String(Math.round(share * Number(slider.max)));
      move();
      if (share < 1) playing = requestAnimationFrame(tick); else stop();
    };
    playing = requestAnimationFrame(tick);
  });
  slider.addEventListener('pointerdown', stop);

  // ---- cards ----------------------------------------------------------------------------------------
  const select = byId('card');
  const axisNumbers = [...document.querySelectorAll('.chart[id] text[text-anchor=end]')]
    .filter((node) => node.textContent.trim() !== '' && Number.isFinite(Number(node.textContent)))
    .map((node) => ({ node, text: node.textContent, value: Number(node.textContent) }));
  const ticks = [...byId('ticks').children].map((node) => ({ node, text: node.textContent, value: Number(node.textContent) }));
  const inText = [...document.querySelectorAll('[data-s]')].map((node) => ({ node, text: node.textContent, value: Number(node.dataset.s) }));
  const pick = () => {
    const n = Number(select.value), card = data.cards[n];
    factor = card.factor;
    const section = byId('verdict'), note = byId('scaled');
    section.className = card.judgement.standing;
    byId('headline').textContent = card.judgement.headline;
    byId('sentences').replaceChildren(...card.judgement.sentences.map((text) => {
      const p = document.createElement('p'); p.textContent = text; return p;
    }));
    byId('keys').replaceChildren(...card.keys.map((key) => {
      const [box, label, fact, value, note_] = ['div', 'dt', 'dd', 'strong', 'span'].map((tag) => document.createElement(tag));
      label.textContent = key.label; value.textContent = key.value; note_.textContent = key.note;
      fact.append(value, note_); box.append(label, fact);
      return box;
    }));
    note.hidden = n === 0;
    if (n !== 0) {
      const back = document.createElement('button');
      back.type = 'button'; back.textContent = `back to ${data.cards[0].label}`;
      back.addEventListener('click', () => { select.value = '0'; pick(); });
      note.replaceChildren(`Numbers of ${card.label}, read from the solve in ${data.cards[0].label}. ${card.judgement.headline}`, back);
    }
    for (const { node, text, value } of axisNumbers.concat(ticks, inText)) {
      node.textContent = n === 0 ? text : digits(factor * value);
    }
    for (const node of document.querySelectorAll('.own-only')) node.hidden = n === 0;
    for (const row of document.querySelectorAll('tr[data-card]')) row.classList.toggle('picked', n !== 0 && Number(row.dataset.card) === n);
    tell();
  };
  if (select) {
    byId('picker').hidden = false;
    select.addEventListener('change', pick);
  }
  move();
})();
