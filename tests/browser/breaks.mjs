// One way to break the fixture after another: what is replaced, by what, and words of the failure it must give.

const BLACK = 'rect x="50" y="5" width="40" height="40" fill="#8a4636"';
const STYLE_AND_SCRIPT = `style-src 'unsafe-inline'; script-src 'unsafe-inline'">`;

export const breaks = {
  opening: [
    {
      from: 'for (const piece of document',
      to: 'for (const end = Date.now() + 2100; Date.now() < end;);\nfor (const piece of document',
      tells: 'at most 2 s',
    },
  ],
  size: [{ from: '</main>', to: `<!--${'x'.repeat(12e6)}--></main>`, tells: 'at most 12 MB' }],
  access: [
    { from: ' alt="A bowl"', to: '', tells: 'image-alt' },
    { from: 'color: #26211d; font', to: 'color: #aaaaaa; font', tells: 'color-contrast' },
    { from: 'font-size="9" fill="#26211d"', to: 'font-size="9" fill="#bbbbbb"', tells: 'contrast of text' },
    {
      from: 'font-size="9" fill="#26211d"',
      to: 'font-size="9" fill="#26211d" opacity="0.4" pointer-events="none"',
      tells: 'contrast of text',
    },
    { from: '<label for="order">', to: '<label>', tells: 'select-name' },
    // Axe cannot tell the ground under something placed over it; our own reckoning can.
    {
      from: '<p>No picture was made.</p>',
      to: '<div style="position: relative; height: 3em"><p style="position: absolute; color: #aaa">A faint word.</p><i style="position: absolute; inset: 0; pointer-events: none"></i></div>',
      tells: 'contrast of text 2.',
    },
  ],
  reflow: [
    {
      from: '<p>No picture was made.</p>',
      to: '<details><summary>More</summary><p style="width: 400px">Wide words.</p></details>',
      tells: 'scrolls sideways',
    },
    { from: 'class="wide"', to: 'class="narrow"', tells: 'scrolls sideways' },
    { from: 'tabindex="0" ', to: '', tells: 'cannot be reached by keyboard' },
    { from: ' aria-label="Table of the load in numbers"', to: '', tells: 'has no name' },
    { from: '.wide { overflow-x: auto; }', to: '.wide { overflow-x: hidden; }', tells: 'cut off' },
  ],
  keyboard: [
    {
      from: '<a href="#piece-2">Jar</a></h3>',
      to: '<a href="#piece-2" tabindex="1">Jar</a></h3>',
      tells: 'Tab goes past',
    },
    { from: 'outline: 3px solid #8f3a1d;', to: 'outline: none;', tells: 'no visible focus' },
    { from: 'outline: 3px solid #8f3a1d;', to: 'outline: 3px solid #f6f1e9;', tells: 'no visible focus' },
    {
      from: '<header>',
      to: '<header style="position: fixed; inset: 0; background: #fff">',
      tells: 'covered',
    },
    {
      from: "button.type = 'button';",
      to: "button.type = 'button'; button.style = 'font-size: 6px; min-height: 0; margin: 0; padding: 0'; head.append(button.cloneNode(true));",
      tells: 'a small target',
    },
    {
      from: "button.type = 'button';",
      to: "button.type = 'button'; button.addEventListener('keydown', (event) => event.preventDefault());",
      tells: 'Tab never comes to',
    },
  ],
  pieces: [
    { from: '<a href="#piece-2">Jar', to: '<a href="#piece-1">Jar', tells: 'no heading of that name' },
    { from: '<a href="#piece-2">Jar', to: '<a href="#piece-9">Jar', tells: 'no section.piece' },
    { from: '<h3>', to: '<h5>', tells: 'skips a level' },
    { from: '<h2 id="load">The load</h2>', to: '<h1 id="load">The load</h1>', tells: '2 headings h1' },
    { from: '<li data-grade="3"', to: '</ol><ol><li data-grade="3"', tells: 'no card leads to' },
    { from: 'id="piece-3-name"', to: 'id="piece-2-name"', tells: 'more than once' },
  ],
  layers: [
    { from: "box.checked ? '' : 'none'", to: "''", tells: 'of it still shown' },
    {
      from: "display = box.checked ? '' : 'none'",
      to: "opacity = box.checked ? '' : '0.5'",
      tells: 'of it still shown',
    },
    {
      from: 'if (part.dataset.layer === box.dataset.layer) part',
      to: 'part',
      tells: 'changes another layer',
    },
    { from: BLACK, to: 'rect width="0" height="0"', tells: 'no pixel of the map changed' },
    {
      from: "of piece.querySelectorAll('figure",
      to: "of document.querySelectorAll('figure",
      tells: 'changes another layer',
    },
    { from: "box.checked ? '' : 'none'", to: "'none'", tells: 'on again, and the layer is not shown' },
    { from: '<g data-layer="red">', to: '<g>', tells: 'the map has no' },
    {
      from: 'entry.append(label);',
      to: 'entry.append(...label.childNodes); box.remove();',
      tells: '0 boxes',
    },
    { from: 'checked: true', to: 'checked: false', tells: 'is not set as the page opens' },
  ],
  withoutScript: [
    {
      from: '<div id="ordering"></div>',
      to: '<div id="ordering"><button type="button">Order</button></div>',
      tells: 'does nothing',
    },
    {
      from: '<section class="piece" id="piece-2"',
      to: '<section class="piece" hidden id="piece-2"',
      tells: 'not to be seen',
    },
    {
      from: 'const cards =',
      to: "document.querySelector('#piece-3').after(document.querySelector('#piece-3').cloneNode(true));\nconst cards =",
      tells: 'section.piece without scripts',
    },
    { from: '<img src="data:image/svg+xml,', to: '<img src="data:image/svg+xml,%3C', tells: 'does not show' },
  ],
  sorting: [
    { from: "head.dataset.sort === 'number'", to: 'false', tells: 'stands before' },
    { from: "head.setAttribute('aria-sort', way);", to: '', tells: 'aria-sort is "null"' },
    {
      from: "for (const one of heads) one.removeAttribute('aria-sort');",
      to: '',
      tells: 'keeps its aria-sort',
    },
    { from: "(a.value === '') - (b.value === '') || sign * ", to: 'sign * ', tells: 'a place without value' },
    { from: "way === 'ascending' ? 1 : -1", to: '1', tells: 'after the second press' },
    {
      from: "=== 'ascending' ? 'descending' : 'ascending'",
      to: "? 'ascending' : 'ascending'",
      tells: 'does not turn',
    },
    {
      from: 'holder.append(...entries',
      to: 'entries.pop().element.remove(); holder.append(...entries',
      tells: 'lost or changed',
    },
    { from: 'card.dataset.made = at;', to: '', tells: 'not the order as made' },
    { from: 'data-white="', to: 'data-whitish="', tells: 'no card has data-white' },
    { from: 'id="order"', to: 'id="turn"', tells: 'no select#order' },
  ],
  printing: [
    { from: 'content="0123456789abcdef0123', to: 'content="0123', tells: '64 hexadecimal digits' },
    { from: '"0123-4567-89ab"', to: '"0123-4567-89ac"', tells: 'is missing on' },
    { from: '@page {', to: '@page :first {', tells: 'is missing on' },
    { from: 'print-color-adjust: exact;', to: '', tells: 'lose their colour' },
    { from: 'height="120" role', to: 'height="1200" role', tells: 'it will be cut' },
    {
      from: 'section.piece { break-before: page; }',
      to: '#piece-3 { display: none; }',
      tells: 'not to be seen on paper',
    },
    { from: 'td, th { white-space: normal; }', to: 'td, th { padding: 5rem; }', tells: 'cut off on paper' },
    {
      from: 'section.piece { break-before: page; }',
      to: 'section.piece { width: 300mm; }',
      tells: 'wider than the paper',
    },
  ],
  words: [
    { from: 'not read', to: 'NaN', tells: 'NaN' },
    { from: '>80.5<', to: '>80.5 ± inf<', tells: 'inf' },
    { from: 'alt="A bowl"', to: 'alt="undefined"', tells: 'attribute alt' },
    { from: 'data-white="9.25"', to: 'data-white="null"', tells: 'null' },
  ],
  quiet: [
    { from: "default-src 'none'; ", to: '', tells: 'no meta policy' },
    { from: 'const cards =', to: "console.warn('a warning');\nconst cards =", tells: 'console warning' },
    {
      from: "box.addEventListener('change', () => {",
      to: "box.addEventListener('change', () => {\n      throw new Error('a slip');",
      tells: 'uncaught error: a slip',
    },
    { from: '<body>', to: '<body><img src="other.png" alt="">', tells: 'console error' },
    {
      from: `img-src data:; ${STYLE_AND_SCRIPT}`,
      to: `img-src file: data:; ${STYLE_AND_SCRIPT}<script>new Image().src = 'other.png';</script>`,
      tells: 'request for',
    },
  ],
};
