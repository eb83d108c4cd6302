// With scripts off the page is whole, and offers no control that does nothing.
import { onPage } from '../browser.mjs';

export const title = 'the page without scripts';

const WHOLE = [
  'section.piece',
  'img',
  'svg image',
  'figure svg',
  'table',
  'ol#cards > li',
  'figure.mapped svg [data-layer]',
];

export async function check(report, say) {
  const withScript = await onPage(report, {}, (page) => page.evaluate(count, WHOLE));
  await onPage(report, { scripts: false }, async (page) => {
    const without = await page.evaluate(count, WHOLE);
    for (const [what, number] of Object.entries(withScript.numbers)) {
      const now = without.numbers[what] ?? 0;
      if (now < number) say.fails(`${now} ${what} without scripts, ${number} with them`);
    }
    for (const line of without.unseen) say.fails(`not to be seen: ${line}`);
    for (const line of without.empty) say.fails(`a picture that does not show: ${line}`);
    for (const line of without.dead) say.fails(`a control that does nothing: ${line}`);
  });
}

/** In the page: how many there are of each kind, which are not seen, and the controls in sight. */
function count(kinds) {
  const { where, shown, seen } = window.looking;
  const numbers = Object.fromEntries(kinds.map((kind) => [kind, document.querySelectorAll(kind).length]));
  const unseen = [];
  for (const element of document.querySelectorAll(kinds.join(', '))) {
    // What a person can unfold without a script is not lost. Parts of a drawing may be of no width.
    const folded = element.closest('details:not([open])');
    const part = element instanceof SVGElement && !(element instanceof SVGSVGElement);
    if (!(part ? shown(element) : seen(element)) && !folded) unseen.push(where(element));
  }
  const empty = [...document.images].filter((image) => image.complete && image.naturalWidth === 0).map(where);
  const controls = document.querySelectorAll(
    'button, input:not([type=hidden]), select, textarea, [role=button], [role=checkbox]',
  );
  return { numbers, unseen, empty, dead: [...controls].filter(seen).map(where) };
}
