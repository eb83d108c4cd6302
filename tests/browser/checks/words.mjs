// No word on the page is what a program writes where it had no value.
import { onPage } from '../browser.mjs';

export const title = 'no words of a missing value';

export async function check(report, say) {
  const found = await onPage(report, {}, (page) =>
    page.evaluate(() => {
      const slip =
        /(?<![\p{L}\p{N}_.-])(?:undefined|NaN|null|Infinity|[-+]?inf|\[object \w+\])(?![\p{L}\p{N}_])/u;
      const lines = [];
      const look = (text, element, what) => {
        const hit = slip.exec(text);
        if (hit) lines.push(`"${hit[0]}" in ${what} of ${window.looking.where(element)}`);
      };
      const walker = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
      while (walker.nextNode()) {
        const element = walker.currentNode.parentElement;
        if (!['script', 'style'].includes(element.localName))
          look(walker.currentNode.data, element, 'the text');
      }
      for (const element of document.querySelectorAll('*')) {
        for (const name of element.getAttributeNames()) {
          const value = element.getAttribute(name);
          if (!value.startsWith('data:')) look(value, element, `the attribute ${name}`);
        }
      }
      return lines;
    }),
  );
  for (const line of found) say.fails(line);
}
