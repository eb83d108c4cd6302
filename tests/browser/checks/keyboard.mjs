// By keyboard alone: Tab goes through all links, buttons and fields in the order of the document, each shows its
// focus (WCAG 2.2, 2.4.7, 1.4.11, 2.4.11), and targets are large or far enough apart (2.5.8).
import { onPage } from '../browser.mjs';

export const title = 'keyboard, focus, targets';

const OPERABLE = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]';

export async function check(report, say) {
  for (const width of [1280, 320]) {
    await onPage(report, { width, unfolded: true }, async (page) => {
      const wanted = await page.evaluate((operable) => {
        window.wanted = [...document.querySelectorAll(operable)].filter(
          (element) => element.tabIndex >= 0 && !element.disabled && window.looking.shown(element),
        );
        return window.wanted.map(window.looking.where);
      }, OPERABLE);
      if (!wanted.length) say.fails(`${width} px: nothing on the page can be reached by Tab`);
      await walk(page, width, wanted, say);
      for (const line of await page.evaluate(smallTargets)) say.fails(`${width} px, ${line}`);
    });
  }
}

/** Presses Tab until the focus leaves the page; every stop is looked at. */
async function walk(page, width, wanted, say) {
  let expected = 0;
  for (let presses = 0; presses < wanted.length + 200; presses += 1) {
    await page.keyboard.press('Tab');
    const stop = await page.evaluate(focused);
    if (!stop) break;
    // A region that scrolls by itself is a stop that need not be on the list.
    if (stop.index >= 0) {
      if (stop.index < expected) break;
      if (stop.index > expected) {
        say.fails(
          `${width} px, Tab goes past ${wanted.slice(expected, stop.index).slice(0, 3).join(' and ')} to ${stop.where}`,
        );
      }
      expected = stop.index + 1;
    }
    if (stop.hidden) say.fails(`${width} px, the focused element is covered or out of sight: ${stop.where}`);
    if (stop.contrast < 3 && !(await changes(page))) {
      say.fails(
        `${width} px, no visible focus: ${stop.where}: outline ${stop.outline}, contrast ${stop.contrast.toFixed(2)}`,
      );
    }
  }
  if (expected < wanted.length) {
    say.fails(
      `${width} px, Tab never comes to ${wanted.length - expected} of ${wanted.length}, first ${wanted[expected]}`,
    );
  }
}

/** In the page: the focused element, how its outline stands out, whether it can be seen. */
function focused() {
  const { where, colour, ratio, ground } = window.looking;
  const element = document.activeElement;
  if (!element || element === document.body || element === document.documentElement) return null;
  const style = getComputedStyle(element);
  const boxes = [...element.getClientRects()];
  const spots = boxes.flatMap((b) =>
    [
      [0.5, 0.5],
      [0.1, 0.2],
      [0.9, 0.8],
    ].map(([u, v]) => [b.left + u * b.width, b.top + v * b.height]),
  );
  const hit = ([x, y]) => {
    const top = document.elementFromPoint(x, y);
    return (
      top &&
      (element.contains(top) ||
        top.contains(element) ||
        [...(element.labels || [])].some((l) => l.contains(top)))
    );
  };
  const line = parseFloat(style.outlineWidth);
  const drawn = style.outlineStyle !== 'none' && line > 0 ? colour(style.outlineColor) : null;
  let contrast = 0;
  if (drawn && drawn[3] === 1) {
    // The ground the outline lies on: just outside the box, or inside where it is drawn inwards.
    const away = parseFloat(style.outlineOffset) + line / 2;
    const box = boxes[0];
    const [x, y] = [box.left + box.width / 2, box.top - away];
    const under = ground(document.elementsFromPoint(x, y >= 0 ? y : box.bottom + away));
    contrast = under ? ratio(drawn, under) : 0;
  }
  return {
    index: window.wanted.indexOf(element),
    where: where(element),
    contrast,
    hidden: !spots.some(hit),
    outline: `${style.outlineWidth} ${style.outlineStyle} ${style.outlineColor}`,
  };
}

/** Whether the pixels around the focused element differ from those without focus. */
async function changes(page) {
  const clip = await page.evaluate(() => {
    const box = document.activeElement.getBoundingClientRect();
    const [left, top] = [Math.max(0, box.left - 8), Math.max(0, box.top - 8)];
    return {
      x: left,
      y: top,
      width: Math.max(1, Math.min(innerWidth, box.right + 8) - left),
      height: Math.max(1, Math.min(innerHeight, box.bottom + 8) - top),
    };
  });
  const focusedPicture = await page.screenshot({ clip });
  await page.evaluate(() => {
    window.kept = document.activeElement;
    window.kept.blur();
  });
  const plain = await page.screenshot({ clip });
  await page.evaluate(() => window.kept.focus({ preventScroll: true, focusVisible: true }));
  return !focusedPicture.equals(plain);
}

/** In the page: targets under 24 px whose circle of 24 px meets another target, or another such circle. */
function smallTargets() {
  const { where } = window.looking;
  const inSentence = (element) => {
    if (element.localName !== 'a' || getComputedStyle(element).display !== 'inline') return false;
    const around = element.closest('p, li, dd, td, figcaption, caption');
    return around && around.textContent.trim().length > element.textContent.trim().length;
  };
  const targets = window.wanted
    .filter(
      (element) =>
        element.matches('a[href], button, input, select, textarea, summary') && !inSentence(element),
    )
    .flatMap((element) => {
      // A label around a box is part of its target.
      const boxes = [element, element.closest('label')]
        .filter(Boolean)
        .map((part) => part.getBoundingClientRect());
      const left = Math.min(...boxes.map((b) => b.left));
      const top = Math.min(...boxes.map((b) => b.top));
      const right = Math.max(...boxes.map((b) => b.right));
      const bottom = Math.max(...boxes.map((b) => b.bottom));
      const small = right - left < 23.99 || bottom - top < 23.99;
      // A link that shows only when it has the focus is one pixel until then: no target yet.
      if (right - left <= 1 || bottom - top <= 1) return [];
      return { element, left, top, right, bottom, small, x: (left + right) / 2, y: (top + bottom) / 2 };
    });
  const meets = (one, other) => {
    const dx = one.x - Math.min(Math.max(one.x, other.left), other.right);
    const dy = one.y - Math.min(Math.max(one.y, other.top), other.bottom);
    return Math.hypot(dx, dy) < 12 || (other.small && Math.hypot(one.x - other.x, one.y - other.y) < 24);
  };
  return targets
    .filter((one) => one.small)
    .flatMap((one) => {
      const near = targets.find((other) => other !== one && meets(one, other));
      const size = `${(one.right - one.left).toFixed(1)} x ${(one.bottom - one.top).toFixed(1)} px`;
      return near
        ? [`a small target: ${where(one.element)}: ${size}, too near to ${where(near.element)}`]
        : [];
    });
}
