// From navigation until everything is loaded and two frames are drawn: under two seconds, best of three.
import { performance } from 'node:perf_hooks';
import { onPage } from '../browser.mjs';

export const title = 'opening';

const LIMIT_SECONDS = 2;
const TRIES = 3;

export async function check(report, say) {
  const seconds = [];
  for (let turn = 0; turn < TRIES; turn += 1) {
    seconds.push(
      await onPage(report, { settled: false }, async (page) => {
        const start = performance.now();
        await page.goto(report.url, { waitUntil: 'load' });
        await page.evaluate(
          () =>
            new Promise((done) => {
              requestAnimationFrame(() => requestAnimationFrame(done));
            }),
        );
        return (performance.now() - start) / 1000;
      }),
    );
  }
  const best = Math.min(...seconds);
  say.notes(`opens in ${best.toFixed(2)} s, best of ${seconds.map((s) => s.toFixed(2)).join(', ')}`);
  if (best >= LIMIT_SECONDS)
    say.fails(`opens in ${best.toFixed(2)} s, at most ${LIMIT_SECONDS} s are allowed`);
}
