// Checks reports in a browser: `node check.mjs OUT REPORT... [--large REPORT...] [--trial PAGE...]`.
// Every failure is one line; exit code 1 on any.
import { mkdirSync } from 'node:fs';
import { resolve } from 'node:path';
import { Report, launch } from './browser.mjs';
import { ALL, LARGE, TRIAL } from './checks/index.mjs';

const [out, ...words] = process.argv.slice(2);
const groups = { '--large': LARGE, '--trial': TRIAL };
const reports = [];
let checks = ALL;
for (const word of words) {
  if (groups[word]) checks = groups[word];
  else reports.push([word, checks]);
}
if (!out || !reports.length) {
  console.error('Name at least one report: check.mjs OUT REPORT... [--large REPORT...] [--trial PAGE...]');
  process.exit(2);
}
mkdirSync(out, { recursive: true });

let failures = 0;
const browser = await launch();
try {
  for (const [file, checks] of reports) {
    console.log(file);
    const report = new Report(browser, resolve(file), resolve(out));
    for (const { title, check } of Object.values(checks)) failures += await one(report, title, check);
  }
} finally {
  await browser.close();
}
if (failures) {
  console.error(`${failures} failures in the browser.`);
  process.exitCode = 1;
}

/** Runs one check, prints what it found, and gives the number of failures. A check that breaks down has failed. */
async function one(report, title, check) {
  const fails = [];
  const notes = [];
  const start = Date.now();
  try {
    await check(report, { fails: (line) => fails.push(line), notes: (line) => notes.push(line) });
  } catch (error) {
    fails.push(`the check broke down: ${error.message.split('\n')[0]}`);
  }
  console.log(
    `  ${fails.length ? 'FAILED' : 'passed'}  ${title} (${((Date.now() - start) / 1000).toFixed(1)} s)`,
  );
  for (const line of notes) console.log(`          ${line}`);
  for (const line of fails) console.log(`    FAILED ${title}: ${line}`);
  return fails.length;
}
