// Every check can fail: the fixture passes them all, and broken in one way it fails the check for that way.
// `node self-test.mjs OUT`; OUT holds the broken pages. Exit code 1 where a check is blind.
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { Report, launch } from './browser.mjs';
import { breaks } from './breaks.mjs';
import { ALL } from './checks/index.mjs';
import { check as size } from './checks/size.mjs';

const out = resolve(process.argv[2]);
mkdirSync(out, { recursive: true });
const sound = readFileSync(new URL('./fixture.html', import.meta.url), 'utf8');

/** The failures of one check on a page. */
async function failures(browser, name, check, html) {
  const file = join(out, `${name}.html`);
  writeFileSync(file, html);
  const fails = [];
  await check(new Report(browser, file, out), { fails: (line) => fails.push(line), notes: () => {} });
  return fails;
}

let blind = 0;
function wrong(line) {
  blind += 1;
  console.error(`FAILED self-test: ${line}`);
}

/** Breaks the fixture in one way, and asks for the failure that tells it. */
async function told(browser, { name, at, from, to, tells }) {
  if (!sound.includes(from)) return wrong(`${name}: the fixture no longer holds ${from}`);
  const check = name === 'size' ? size : ALL[name].check;
  const found = await failures(
    browser,
    `${name}-${at + 1}`,
    check,
    sound.replaceAll(from, () => to),
  );
  if (!found.some((line) => line.includes(tells))) {
    wrong(
      `${name} does not tell "${tells}" of ${to.slice(0, 80)}; it tells: ${found.join(' | ') || 'nothing'}`,
    );
  }
}

const browser = await launch();
try {
  for (const [name, { check }] of Object.entries(ALL)) {
    for (const line of await failures(browser, 'sound', check, sound))
      wrong(`the sound fixture fails ${name}: ${line}`);
  }
  const cases = Object.entries(breaks).flatMap(([name, all]) => all.map((one, at) => ({ name, at, ...one })));
  // A few at a time: most of each is waiting.
  const next = cases.values();
  await Promise.all(
    [1, 2, 3, 4].map(async () => {
      for (const one of next) await told(browser, one);
    }),
  );
  for (const name of Object.keys(ALL))
    if (!breaks[name]?.length) wrong(`${name}: nothing shows that it can fail`);
} finally {
  await browser.close();
}
const tried = Object.values(breaks).flat().length;
console.log(`${tried} broken pages, ${tried - blind} of them told.`);
process.exitCode = blind ? 1 : 0;
