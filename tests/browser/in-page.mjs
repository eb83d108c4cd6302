// Helpers that run inside the page: put there before its own scripts, as `window.looking`.
// Everything lives in one function, because the page gets its text and nothing around it.

export function looking() {
  const HEX = (c) =>
    `#${c
      .slice(0, 3)
      .map((v) => Math.round(v).toString(16).padStart(2, '0'))
      .join('')}`;

  /** What a person needs to find an element: its way from the nearest id, and its first words. */
  function where(element) {
    const steps = [];
    for (let at = element; at && at !== document.documentElement; at = at.parentElement) {
      if (at.id) {
        steps.unshift(`#${at.id}`);
        break;
      }
      const classes = [...at.classList].map((name) => `.${name}`).join('');
      const same = at.parentElement
        ? [...at.parentElement.children].filter((c) => c.localName === at.localName)
        : [];
      const nth = same.length > 1 && !classes ? `:nth-of-type(${same.indexOf(at) + 1})` : '';
      steps.unshift(at.localName + classes + nth);
    }
    const words = (element.textContent || element.getAttribute('alt') || '')
      .replace(/\s+/g, ' ')
      .trim()
      .slice(0, 40);
    return steps.slice(-4).join(' > ') + (words ? ` "${words}"` : '');
  }

  /** Whether its own style and those around it show it. `checkVisibility` alone says yes to a hidden SVG group. */
  function shown(element) {
    for (let at = element; at; at = at.parentElement)
      if (getComputedStyle(at).display === 'none') return false;
    return element.checkVisibility({ visibilityProperty: true });
  }

  /** Whether it is shown, not quite transparent, and of some size. */
  function seen(element) {
    const box = element.getBoundingClientRect();
    return (
      shown(element) && element.checkVisibility({ opacityProperty: true }) && box.width > 0 && box.height > 0
    );
  }

  /** A CSS colour as [red, green, blue, alpha], 0 to 255 and 0 to 1; null where it is no plain sRGB colour. */
  function colour(text) {
    const inside = /^rgba?\(([^)]*)\)$/.exec(text);
    if (!inside) return null;
    const [r, g, b, a = 1] = inside[1]
      .split(/[\s,/]+/)
      .filter(Boolean)
      .map(Number);
    return [r, g, b, a];
  }

  const over = (top, under) => [0, 1, 2].map((i) => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);

  /** Relative luminance of WCAG 2.x. */
  function luminance(c) {
    const [r, g, b] = c.slice(0, 3).map((v) => {
      const s = v / 255;
      return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  }

  /** Contrast ratio of WCAG 2.x, 1 to 21. */
  function ratio(a, b) {
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
  }

  /** What one element paints as ground: a colour, null for nothing, undefined where it is no plain colour. */
  function paints(element) {
    const style = getComputedStyle(element);
    if (['img', 'image', 'video', 'canvas', 'use'].includes(element.localName)) return undefined;
    // A line has no inside that its fill could paint; where it crosses words is a stroke's width.
    if (element instanceof SVGLineElement || element instanceof SVGPolylineElement) return null;
    if (element instanceof SVGGeometryElement) {
      if (style.fill === 'none') return null;
      const fill = colour(style.fill);
      return fill
        ? [...fill.slice(0, 3), fill[3] * Number(style.fillOpacity) * Number(style.opacity)]
        : undefined;
    }
    if (element instanceof SVGElement && !(element instanceof SVGSVGElement)) return null;
    if (style.backgroundImage !== 'none') return undefined;
    const ground = colour(style.backgroundColor);
    return ground && ground[3] === 0 ? null : (ground ?? undefined);
  }

  /** The plain ground that elements from the top one down make; null where a picture or pattern is among them. */
  function ground(stack) {
    const layers = [];
    for (const at of stack) {
      if (at instanceof SVGTextContentElement) continue;
      const paint = paints(at);
      if (paint === undefined) return null;
      if (paint === null) continue;
      layers.push(paint);
      if (paint[3] === 1) break;
    }
    return layers.reduceRight((under, top) => over(top, under), [255, 255, 255, 1]);
  }

  /** What can be seen of something painted with this colour, all the transparency around it counted. */
  function seenThrough(element, [r, g, b, alpha]) {
    for (let at = element; at; at = at.parentElement) alpha *= Number(getComputedStyle(at).opacity);
    return [r, g, b, alpha];
  }

  /** The ground that words bring along: a wide opaque stroke painted below their fill. */
  function halo(style) {
    if (!style.paintOrder.startsWith('stroke') || parseFloat(style.strokeWidth) < 2) return null;
    const stroke = colour(style.stroke);
    return stroke && stroke[3] === 1 ? stroke : null;
  }

  /** The least contrast of an element's own words to their plain ground; null where no such ground is in sight. */
  function textContrast(element) {
    element.scrollIntoView({ block: 'center', inline: 'center' });
    const style = getComputedStyle(element);
    const painted = colour(element instanceof SVGElement ? style.fill : style.color);
    if (!painted) return null;
    const ink = seenThrough(element, painted);
    const range = document.createRange();
    let least = null;
    for (const node of element.childNodes) {
      if (node.nodeType !== Node.TEXT_NODE || !node.data.trim()) continue;
      range.selectNodeContents(node);
      for (const box of range.getClientRects()) {
        for (const [u, v] of [
          [0.5, 0.5],
          [0.05, 0.1],
          [0.95, 0.1],
          [0.05, 0.9],
          [0.95, 0.9],
        ]) {
          const stack = document.elementsFromPoint(box.left + u * box.width, box.top + v * box.height);
          const from = stack.indexOf(element);
          // Out of the window, or scrolled away: another place of the same words tells.
          if (from < 0) continue;
          const under = halo(style) ?? ground(stack.slice(from));
          if (!under) return null;
          const found = ratio(over(ink, under), under);
          if (!least || found < least.ratio)
            least = { ratio: found, ink: HEX(over(ink, under)), ground: HEX(under) };
        }
      }
    }
    if (!least) return null;
    const size = parseFloat(style.fontSize);
    const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
    return { ...least, needed: large ? 3 : 4.5, where: where(element) };
  }

  /** The innermost elements that end beyond `limit` px: where a page that is too wide gets its width from. */
  function sticksOut(limit) {
    const right = (element) => Math.round(element.getBoundingClientRect().right + scrollX);
    return [...document.body.querySelectorAll('*')]
      .filter(
        (element) =>
          right(element) > limit && seen(element) && ![...element.children].some((c) => right(c) > limit),
      )
      .map((element) => `${where(element)} ends at ${right(element)} px`);
  }

  const words = (element) => (element.textContent || '').replace(/\s+/g, ' ').trim();

  window.looking = { where, shown, seen, colour, ratio, ground, textContrast, sticksOut, words };
}
