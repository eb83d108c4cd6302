// Printed on A4 and Letter: the report's id on every page, nothing that should stay whole taller than a page,
// swatches in their colour. A grey picture of the first page is left for people to look at.
import { join, parse } from 'node:path';
import { onPage, run } from '../browser.mjs';

export const title = 'printing';

const MILLIMETRE = 96 / 25.4;
const PAPERS = [
  { name: 'A4', width: 210, height: 297 },
  { name: 'Letter', width: 215.9, height: 279.4 },
];

export async function check(report, say) {
  for (const paper of PAPERS) {
    await onPage(report, {}, async (page) => {
      await papers(report, page, paper, say);
      await measures(page, paper, say);
    });
  }
}

/** The PDF itself: its text, page by page. */
async function papers(report, page, { name }, say) {
  const id = await page.evaluate(() => document.querySelector('meta[name=report-id]')?.content ?? '');
  if (!/^[0-9a-f]{64}$/.test(id)) say.fails(`meta name="report-id" is not 64 hexadecimal digits: "${id}"`);
  const short = id.slice(0, 12).replace(/(.{4})(?=.)/g, '$1-');
  const stem = join(report.out, `${parse(report.file).name}-${name.toLowerCase()}`);
  await page.pdf({ path: `${stem}.pdf`, format: name, printBackground: false });
  const pages = run('pdftotext', '-layout', `${stem}.pdf`, '-').split('\f').slice(0, -1);
  say.notes(`${name}: ${pages.length} pages`);
  const without = pages.flatMap((text, at) => (id && text.includes(short) ? [] : [at + 1]));
  if (without.length)
    say.fails(
      `${name}: the id ${short || '(none)'} is missing on ${without.length} of ${pages.length} pages: ${without.slice(0, 12).join(', ')}`,
    );
  run('pdftoppm', '-r', '96', '-gray', '-png', '-f', '1', '-l', '1', '-singlefile', `${stem}.pdf`, stem);
}

/** The page laid out for paper, at the width between the margins its own style asks for. */
async function measures(page, { name, width, height }, say) {
  await page.emulateMedia({ media: 'print', colorScheme: 'light' });
  const margins = await page.evaluate(marginsOfPaper);
  const room = {
    width: width * MILLIMETRE - margins.left - margins.right,
    height: height * MILLIMETRE - margins.top - margins.bottom,
  };
  await page.setViewportSize({ width: Math.floor(room.width), height: Math.floor(room.height) });
  const found = await page.evaluate((tallest) => {
    const { where, seen, sticksOut } = window.looking;
    const lines = [];
    for (const element of document.body.querySelectorAll('*')) {
      if (!seen(element)) continue;
      const style = getComputedStyle(element);
      const picture = ['img', 'canvas'].includes(element.localName) || element instanceof SVGSVGElement;
      const whole = /^avoid/.test(style.breakInside) && !(element instanceof SVGElement);
      const tall = element.getBoundingClientRect().height;
      if (
        style.overflowX !== 'visible' &&
        element.clientWidth > 1 &&
        element.scrollWidth > element.clientWidth + 1
      ) {
        lines.push(
          `cut off on paper: ${where(element)}: ${element.scrollWidth} px in ${element.clientWidth} px`,
        );
      }
      if ((picture || whole) && tall > tallest) {
        lines.push(
          `${where(element)} is ${Math.round(tall)} px tall, a page holds ${Math.round(tallest)}: it will be cut`,
        );
      }
    }
    for (const piece of document.querySelectorAll('section.piece')) {
      if (!seen(piece)) lines.push(`a piece not to be seen on paper: ${where(piece)}`);
    }
    const swatches = [...document.querySelectorAll('.swatch')];
    const kept = (element) =>
      getComputedStyle(element).printColorAdjust ?? getComputedStyle(element).webkitPrintColorAdjust;
    const pale = swatches.filter((swatch) => kept(swatch) !== 'exact');
    if (!swatches.length) lines.push('no element .swatch');
    if (pale.length)
      lines.push(
        `${pale.length} of ${swatches.length} swatches may lose their colour (print-color-adjust is ${kept(pale[0])}), first ${where(pale[0])}`,
      );
    const wide = document.documentElement.scrollWidth;
    if (wide > innerWidth + 1)
      lines.push(
        `wider than the paper: ${wide} px of ${innerWidth}; ${sticksOut(innerWidth + 1)
          .slice(0, 3)
          .join('; ')}`,
      );
    return lines;
  }, room.height);
  for (const line of found) say.fails(`${name}: ${line}`);
}

/** In the page: the margins of `@page`, in px; none where the style does not say. */
function marginsOfPaper() {
  const found = { top: 0, right: 0, bottom: 0, left: 0 };
  const probe = document.body.appendChild(document.createElement('div'));
  const length = (text) => {
    probe.style.width = text;
    return text ? parseFloat(getComputedStyle(probe).width) : null;
  };
  const look = (rules) => {
    for (const rule of rules) {
      if (rule instanceof CSSPageRule && !rule.selectorText) {
        for (const side of Object.keys(found))
          found[side] = length(rule.style.getPropertyValue(`margin-${side}`)) ?? found[side];
      } else if (rule.cssRules && (!(rule instanceof CSSMediaRule) || matchMedia(rule.conditionText).matches))
        look(rule.cssRules);
    }
  };
  for (const sheet of document.styleSheets) look(sheet.cssRules);
  probe.remove();
  return found;
}
