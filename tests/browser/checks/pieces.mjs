// Every link of the first screen leads to the section of a piece with the same name as heading; the outline of
// headings has one top and skips no level; no id stands twice.
import { onPage } from '../browser.mjs';

export const title = 'pieces, links, headings';

export async function check(report, say) {
  const lines = await onPage(report, {}, (page) =>
    page.evaluate(() => {
      const { words, where } = window.looking;
      const failures = [];
      const headings = [...document.querySelectorAll('h1, h2, h3, h4, h5, h6')];
      const tops = headings.filter((h) => h.localName === 'h1').length;
      if (tops !== 1) failures.push(`${tops} headings h1, there should be one`);
      let before = 0;
      for (const heading of headings) {
        const level = Number(heading.localName[1]);
        if (level > before + 1) failures.push(`a heading skips a level: h${before}, then ${where(heading)}`);
        if (!words(heading)) failures.push(`an empty heading: ${where(heading)}`);
        before = level;
      }
      const pieces = [...document.querySelectorAll('section.piece')];
      if (!pieces.length) failures.push('no section.piece on the page');
      const reached = new Set();
      for (const link of document.querySelectorAll('ol#cards a, ol.cards a, table#numbers tbody a')) {
        const id = decodeURIComponent((link.getAttribute('href') || '').replace(/^#/, ''));
        const piece = pieces.find((section) => section.id === id);
        const titles = piece ? [...piece.querySelectorAll('h2, h3')].map(words) : [];
        if (!piece) failures.push(`${where(link)} leads to #${id}, which is no section.piece`);
        else if (!titles.includes(words(link)))
          failures.push(`${where(link)}: #${id} has no heading of that name, but "${titles[0]}"`);
        if (link.closest('ol')) reached.add(id);
      }
      for (const piece of pieces.filter(({ id }) => !reached.has(id)))
        failures.push(`no card leads to ${where(piece)}`);
      for (const link of document.querySelectorAll('a[href^="#"]')) {
        const id = decodeURIComponent(link.getAttribute('href').slice(1));
        if (id && !document.getElementById(id)) failures.push(`${where(link)} leads nowhere: #${id}`);
      }
      const ids = [...document.querySelectorAll('[id]')].map(({ id }) => id);
      for (const id of new Set(ids.filter((id, at) => ids.indexOf(id) !== at)))
        failures.push(`the id "${id}" stands more than once`);
      return failures;
    }),
  );
  for (const line of lines) say.fails(line);
}
