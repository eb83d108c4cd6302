// The rules of axe-core for WCAG 2.2 A and AA and good practice, wide and narrow; and the contrast of text
// that axe leaves open, where the text lies on a plain ground.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { onPage } from '../browser.mjs';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

export const title = 'rules of access (axe-core), contrast of text';

export async function check(report, say) {
  for (const width of [1280, 320]) {
    await onPage(report, { width, unfolded: true }, async (page) => {
      await page.evaluate(AXE);
      const found = await page.evaluate(
        (tags) =>
          window.axe.run(document, {
            runOnly: { type: 'tag', values: tags },
            resultTypes: ['violations', 'incomplete'],
          }),
        TAGS,
      );
      for (const { id, help, nodes } of found.violations) {
        for (const node of nodes) {
          const why = [...node.any, ...node.all, ...node.none].map((part) => part.message).join('; ');
          say.fails(`${width} px, ${id} (${help}): ${node.target.join(' ')}: ${why}`);
        }
      }
      for (const { id, nodes } of found.incomplete) {
        say.notes(`${width} px: axe leaves to a person: ${id}, ${nodes.length} places`);
      }
      const open = found.incomplete.filter(({ id }) => id === 'color-contrast').flatMap(({ nodes }) => nodes);
      await contrast(
        page,
        width,
        open.map(({ target }) => target[0]),
        say,
      );
    });
  }
}

/** Measures the words at `selectors`, and all words drawn in SVG, which axe does not look at. */
async function contrast(page, width, selectors, say) {
  const measured = await page.evaluate((asked) => {
    const { looking } = window;
    // What lies where is asked of the browser, which passes over elements that take no pointer.
    const touchable = new CSSStyleSheet();
    touchable.replaceSync('* { pointer-events: auto !important; }');
    document.adoptedStyleSheets.push(touchable);
    const own = (element) =>
      [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
    const drawn = [...document.querySelectorAll('svg text, svg text *')].filter(
      (element) => own(element) && looking.seen(element),
    );
    const elements = asked.map((selector) => document.querySelector(selector)).concat(drawn);
    return elements
      .filter(Boolean)
      .map((element) => looking.textContrast(element) ?? { open: looking.where(element) });
  }, selectors);
  for (const one of measured.filter(({ ratio, needed }) => ratio < needed)) {
    say.fails(
      `${width} px, contrast of text ${one.ratio.toFixed(2)}, ${one.needed} is needed: ${one.where}: ${one.ink} on ${one.ground}`,
    );
  }
  const left = measured.filter(({ open }) => open);
  if (left.length) {
    say.notes(
      `${width} px: ${left.length} texts on a picture or pattern, or out of sight, left to a person: ${left
        .slice(0, 3)
        .map(({ open }) => open)
        .join('; ')}`,
    );
  }
}
