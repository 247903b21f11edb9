// Looks at a page of `withy watch` as its reader does while the part file changes. Called by `run`.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { chromium } from 'playwright-core';

const [, , program, demo] = process.argv;
const folder = mkdtempSync(join(tmpdir(), 'withy-'));
cpSync(demo, folder, { recursive: true });
const part = join(folder, 'clip.toml'), good = readFileSync(part, 'utf8');
const child = spawn(program, ['watch', part, '--accuracy', '20 %'], { stdio: ['ignore', 'ignore', 'pipe'] });
const address = await new Promise((found) => createInterface({ input: child.stderr }).on('line', (line) => {
  const match = /http:\/\/\S+/.exec(line);
  if (match) found(match[0]);
}));
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args: ['--no-sandbox'] });
try {
  const page = await browser.newPage(), trouble = [];
  page.on('console', (message) => { if (!['log', 'warning'].includes(message.type())) trouble.push(message.text()); });
  page.on('pageerror', (error) => trouble.push(error.message));
  page.on('request', (request) => { if (!request.url().startsWith(address)) trouble.push(request.url()); });
  await page.goto(address);
  const state = (word) => page.waitForFunction((w) => document.getElementById('bar').dataset.state === w, word, { timeout: 60000 });
  const heading = () => page.frameLocator('#report').locator('h1').textContent();
  await state('solved');
  assert.equal(await heading(), 'Rail clip');
  // A reader has moved the slider and scrolled.
  const inside = () => page.frames().find((f) => f.url().includes('/report'));
  const middle = await inside().evaluate(() => {
    const draw = document.getElementById('draw');
    draw.value = String(Math.round(Number(draw.max) / 2));
    draw.dispatchEvent(new Event('input'));
    scrollTo(0, 300);
    return draw.value;
  });

  writeFileSync(part, good.replace('steps', 'stepz'));
  await state('refused');
  assert.match(await page.textContent('#message'), /clip\.toml:\d+:\d+: 'stepz' is not known here/);
  assert.equal(await heading(), 'Rail clip', 'the last good result stays');

  writeFileSync(part, good.replace('Rail clip', 'Wider clip'));
  await state('solved');
  await page.waitForFunction(() => document.getElementById('report').contentDocument?.querySelector('h1')?.textContent === 'Wider clip');
  await page.waitForFunction(() => document.getElementById('report').contentWindow.scrollY > 0);
  const kept = await inside().evaluate(() => [document.getElementById('draw').value, scrollY]);
  assert.deepEqual(kept, [middle, 300], 'place and draw are kept');
  child.kill('SIGINT');
  // Its last question finds nobody, which is what it then says.
  const before = trouble.length;
  await state('lost');
  assert.deepEqual(trouble.slice(0, before), [], 'no error, no request elsewhere');
  console.log('watch: a bad change is named beside the last good page, a good one shown at the same place and draw');
} finally {
  child.kill('SIGKILL');
  await browser.close();
  rmSync(folder, { recursive: true });
}
