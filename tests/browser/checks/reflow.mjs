// WCAG 2.2, 1.4.10: at 320 px the page does not scroll sideways. Regions that scroll by themselves can be reached
// by keyboard and have a name; nothing is cut off.
import { onPage } from '../browser.mjs';

export const title = 'reflow at 320 px';

export async function check(report, say) {
  await onPage(report, { width: 320, unfolded: true }, async (page) => {
    const found = await page.evaluate(() => {
      const { where, seen } = window.looking;
      const root = document.scrollingElement;
      const scrolls = [];
      const cut = [];
      const named = (element) => {
        const by = (element.getAttribute('aria-labelledby') || '').split(/\s+/).filter(Boolean);
        const words = by.map((id) => document.getElementById(id)?.textContent || '').join(' ');
        return Boolean((words || element.getAttribute('aria-label') || '').trim());
      };
      for (const element of document.body.querySelectorAll('*')) {
        if (element.clientWidth <= 1 || element instanceof SVGElement || !seen(element)) continue;
        const style = getComputedStyle(element);
        const wide = element.scrollWidth > element.clientWidth + 1;
        const tall = element.scrollHeight > element.clientHeight + 1;
        const own = (way) => /auto|scroll/.test(way);
        if ((wide && own(style.overflowX)) || (tall && own(style.overflowY))) {
          if (['textarea', 'select'].includes(element.localName)) continue;
          const lacks = [];
          if (element.tabIndex < 0) lacks.push('cannot be reached by keyboard (no tabindex="0")');
          if (!named(element)) lacks.push('has no name (aria-label or aria-labelledby)');
          if (!element.hasAttribute('role') && element.localName !== 'section')
            lacks.push('has no role to carry a name');
          if (lacks.length) scrolls.push(`${where(element)}: ${lacks.join(', ')}`);
        } else if (wide && /hidden|clip/.test(style.overflowX)) {
          cut.push(`${where(element)}: ${element.scrollWidth} px in ${element.clientWidth} px`);
        }
      }
      return { width: root.scrollWidth, scrolls, cut, out: window.looking.sticksOut(321) };
    });
    if (found.width > 320) {
      say.fails(`the page scrolls sideways: ${found.width} px wide; ${found.out.slice(0, 5).join('; ')}`);
    }
    for (const line of found.scrolls) say.fails(`a region that scrolls by itself: ${line}`);
    for (const line of found.cut) say.fails(`something is cut off: ${line}`);
  });
}
