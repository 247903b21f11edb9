// Uses report.html as a reader does, and compares what it says with summary.json. Called by `run`.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const [, , folder, cards] = process.argv;
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args: ['--no-sandbox'] });

// About three significant digits, as the program writes numbers.
const shown = (value) => {
  const size = Math.abs(value);
  if (size >= 99.95) return value.toFixed(0);
  if (size >= 9.995) return value.toFixed(1);
  if (size >= 0.0995 || size === 0) return value.toFixed(2);
  return size >= 0.001 ? value.toFixed(4) : value.toExponential(1);
};
// Of a card on the shelf, read from its file (MPa).
const modulus = (card) => {
  const text = readFileSync(`${cards}/${card}.toml`, 'utf8');
  const [, value, unit] = /youngs_modulus = \{ value = "([\d.]+) ([MG]Pa)"/.exec(text);
  return unit === 'GPa' ? 1000 * Number(value) : Number(value);
};

// What each part is driven or loaded along, to read its effort from the reactions.
const parts = {
  kicker: { card: 'petg', moving: { grip: [0, -1] } },
  gate: { card: 'pa12', moving: { knob: [0, -1] } },
  clip: { card: 'petg', moving: { 'lip-left': [-1, 0], 'lip-right': [1, 0] } },
  tweezers: { card: 'pla', moving: { 'finger-pad': [0, -1], 'thumb-pad': [0, 1] } },
};

const open = async (part, options) => {
  const context = await browser.newContext(options), page = await context.newPage(), trouble = [];
  const url = pathToFileURL(resolve(folder, part, 'report.html')).href;
  // The browser remarks on this check's own reading of pixels.
  const ours = (message) => message.text().startsWith('Canvas2D: Multiple readback');
  page.on('console', (message) => { if (message.type() !== 'log' && !ours(message)) trouble.push(message.text()); });
  page.on('pageerror', (error) => trouble.push(error.message));
  page.on('request', (request) => { if (request.url() !== url) trouble.push(`asked for ${request.url()}`); });
  await page.goto(url);
  return { context, page, trouble };
};
const frame = (page) => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
const told = (page) => page.$$eval('#now [data-q]', (nodes) => Object.fromEntries(nodes.map((n) => [n.dataset.q, n.textContent])));
// Colour of the pixel at a share of a canvas.
const pixel = (page, canvas, x, y) => page.$eval(canvas, (node, [x, y]) =>
  [...node.getContext('2d').getImageData(Math.floor(x * node.width), Math.floor(y * node.height), 1, 1).data], [x, y]);
const setSlider = async (page, value) => {
  await page.$eval('#draw', (node, v) => { node.value = v; node.dispatchEvent(new Event('input')); }, String(value));
  await frame(page);
};

const expected = (step, axes, factor = 1) => {
  const list = {
    energy: `${shown(factor * step.strain_energy_mJ)} mJ`, stress: `${shown(factor * step.peak_von_mises_MPa)} MPa`,
    strain: `${shown(100 * step.peak_strain)} %`, stable: step.stable ? 'stable' : 'not stable',
  };
  axes.forEach(([name, d], k) => {
    const along = (v) => v[0] * d[0] + v[1] * d[1];
    list[`travel-${k}`] = `${shown(along(step.travel_mm[name]))} mm`;
    list[`effort-${k}`] = `${shown(factor * along(step.reaction_N[name]))} N`;
  });
  const guidance = step.guidance?.[axes[0][0]];
  if (guidance) {
    list.lateral = `${shown(factor * guidance.lateral_N_per_mm)} N/mm`;
    list.yaw = `${shown(factor * guidance.yaw_Nmm_per_deg)} N mm/deg`;
  }
  if (step.smallest_gap_mm !== undefined) list.gap = `${shown(step.smallest_gap_mm)} mm`;
  return list;
};

const check = async (part, width, colorScheme) => {
  const summary = JSON.parse(readFileSync(resolve(folder, part, 'summary.json'), 'utf8'));
  const { card, moving } = parts[part], axes = Object.entries(moving);
  const { context, page, trouble } = await open(part, { viewport: { width, height: 800 }, colorScheme, hasTouch: width < 500 });
  await frame(page);

  // Nothing sticks out to the side.
  const wide = await page.evaluate(() => [document.documentElement.scrollWidth, ...[...document.querySelectorAll('main *')]
    .filter((n) => getComputedStyle(n.closest('thead') ?? n).position !== 'absolute').map((n) => n.getBoundingClientRect().right)]);
  assert.ok(Math.max(...wide) <= width + 0.5, `${Math.max(...wide)} px wide of ${width}`);

  // The slider, state by state, against the summary.
  const most = Number(await page.getAttribute('#draw', 'max')), each = most / summary.steps.length;
  assert.equal(each, Math.round(each), 'reported states are slider positions');
  for (const [n, step] of summary.steps.entries()) {
    await setSlider(page, (n + 1) * each);
    const found = await told(page);
    for (const [name, text] of Object.entries(expected(step, axes))) assert.equal(found[name], text, `${part} ${n} ${name}`);
    assert.match(await page.textContent('#which'), /^Reported state \d+ of \d+\.$/);
  }
  const middle = summary.steps.length - 2, [a, b] = [summary.steps[middle], summary.steps[middle + 1]];
  await setSlider(page, (middle + 1.5) * each);
  const half = 0.5 * (a.strain_energy_mJ + b.strain_energy_mJ);
  assert.equal((await told(page)).energy, `${shown(half)} mJ`, 'half-way');
  assert.match(await page.textContent('#which'), /interpolated/);

  // By keyboard.
  await page.focus('#draw');
  await page.keyboard.press('Home');
  await frame(page);
  assert.equal((await told(page)).energy, '0.00 mJ', 'at rest');
  assert.match(await page.getAttribute('#draw', 'aria-valuetext'), /^0 % of the draw/);
  const heat = (await page.$eval('#data', (node) => JSON.parse(node.textContent).heat))
    .map((text) => [1, 3, 5].map((k) => parseInt(text.slice(k, k + 2), 16)));
  // Where a painted pixel stands on the scale, 0 to 1; none if it is no colour of the scale.
  const onScale = (c) => {
    const off = heat.map((h) => Math.max(...h.map((v, k) => Math.abs(v - c[k])))), best = Math.min(...off);
    return c[3] === 255 && best <= 4 ? off.indexOf(best) / (heat.length - 1) : null;
  };
  // The hot spot is the middle of the close-up; it sits on the edge, so that the part is on one side of it.
  const around = async () => {
    const list = [];
    for (let k = 0; k < 48; k++) {
      const turn = k / 48 * 2 * Math.PI;
      list.push(await pixel(page, '#close-view', 0.5 + 0.012 * Math.cos(turn), 0.5 + 0.017 * Math.sin(turn)));
    }
    return list.map(onScale).filter((t) => t !== null);
  };
  const atRest = await around();
  assert.ok(atRest.length > 4 && Math.max(...atRest) === 0, `${part}: no stress at rest, ${atRest}`);
  await page.keyboard.press('ArrowRight');
  assert.equal(await page.inputValue('#draw'), '1', 'one key, one position');
  await page.keyboard.press('End');
  await frame(page);
  assert.equal(await page.inputValue('#draw'), String(most));
  const final = await around();
  const worst = Math.max(...summary.steps.map((s) => s.peak_von_mises_MPa)), atEnd = summary.steps.at(-1).peak_von_mises_MPa;
  // Where the last state is the worst, stress at the hot spot is the end of the scale, and falls steeply behind it.
  if (atEnd === worst) {
    const most = Math.max(...final);
    assert.ok(final.length > 4 && most > 0.7, `${part}: dark at the hot spot at full draw, ${most}`);
  }

  // Markers on the curves.
  const dots = await page.$$eval('.runner-dot', (list) => list.map((n) => [Number(n.getAttribute('cx')), Number(n.getAttribute('cy'))]));
  assert.ok(dots.length >= 2 && dots.flat().every(Number.isFinite), 'a marker on each curve');

  // By touch.
  if (width < 500) {
    const box = await (await page.$('#draw')).boundingBox();
    await page.touchscreen.tap(box.x + 0.5 * box.width, box.y + 0.5 * box.height);
    await frame(page);
    const value = Number(await page.inputValue('#draw'));
    assert.ok(Math.abs(value / most - 0.5) < 0.06, `${value} of ${most} by touch`);
  }

  // Other materials.
  if (part === 'tweezers') {
    assert.equal(await page.$('#card'), null, 'no picker under a given load');
  } else {
    await setSlider(page, most);
    const numbers = async () => (await page.textContent('#keys')).replaceAll('\n', ''), before = await numbers();
    const other = card === 'petg' ? ['PCTG', 'pctg'] : ['PETG', 'petg'];
    await page.selectOption('#card', { label: other[0] });
    const factor = modulus(other[1]) / modulus(card);
    const found = await told(page), last = summary.steps.at(-1);
    for (const [name, text] of Object.entries(expected(last, axes, factor))) assert.equal(found[name], text, `${other[0]} ${name}`);
    assert.ok((await numbers()).includes(`${shown(factor * last.strain_energy_mJ)} mJ`), 'the numbers above too');
    assert.ok(await page.isVisible('#scaled'), 'and it is said');
    await page.click('#scaled button');
    assert.equal(await numbers(), before, 'and back');
  }

  // It plays by itself.
  await page.click('#play');
  await page.waitForFunction(() => Number(document.getElementById('draw').value) > 0 && document.getElementById('play').textContent === 'Stop');
  await page.click('#play');
  assert.deepEqual(trouble, [], 'no error, no request');
  await context.close();
};

// Without JavaScript the text is whole, and the part is a picture.
const withoutScript = async (part) => {
  const { context, page, trouble } = await open(part, { viewport: { width: 390, height: 800 }, javaScriptEnabled: false });
  assert.ok(await page.isVisible('noscript svg'), 'the stand-in');
  assert.ok(!await page.isVisible('#draw'), 'no slider');
  assert.deepEqual(trouble, []);
  await context.close();
};

for (const part of Object.keys(parts)) {
  for (const width of [390, 1280]) for (const scheme of ['light', 'dark']) await check(part, width, scheme);
  await withoutScript(part);
  console.log(`${part}: slider, keys, touch, cards and markers as in summary.json, at 390 and 1280 px, light and dark`);
}
await browser.close();
