// The table of numbers is sorted by the buttons in its head, the cards by the list of orders.
import { onPage } from '../browser.mjs';

export const title = 'sorting';

export async function check(report, say) {
  await onPage(report, {}, async (page) => {
    await table(page, say);
    await cards(page, say);
  });
}

async function table(page, say) {
  const columns = await page.evaluate(() =>
    [...document.querySelectorAll('table#numbers thead th[data-sort]')].map((head) => ({
      column: head.cellIndex,
      kind: head.dataset.sort,
      name: window.looking.words(head),
      buttons: head.querySelectorAll('button').length,
    })),
  );
  if (!columns.length) return say.fails('no table#numbers thead th[data-sort]');
  const read = (column) =>
    page.evaluate((at) => {
      const grid = document.querySelector('table#numbers');
      const rows = [...grid.tBodies[0].rows];
      return {
        values: rows.map((row) => row.cells[at].dataset.value ?? ''),
        names: rows.map((row) => window.looking.words(row)),
        sorted: [...grid.tHead.querySelectorAll('th')].map((head) => head.getAttribute('aria-sort')),
      };
    }, column);
  const made = await read(columns[0].column);
  for (const { column, kind, name, buttons } of columns) {
    const fails = (line) => say.fails(`table#numbers, column "${name}": ${line}`);
    if (buttons !== 1) {
      fails(`${buttons} buttons in its head, there should be one`);
      continue;
    }
    if ((await read(column)).values.every((value) => value === '')) fails('no cell has a data-value');
    const ways = [];
    for (const press of ['first', 'second']) {
      await page.locator('table#numbers thead th').nth(column).locator('button').press('Enter');
      const now = await read(column);
      const way = now.sorted[column];
      ways.push(way);
      if (!['ascending', 'descending'].includes(way)) fails(`aria-sort is "${way}" after the ${press} press`);
      if (now.sorted.some((other, at) => at !== column && other && other !== 'none'))
        fails('another column keeps its aria-sort');
      const fault = disorder(now.values, kind === 'number', way !== 'descending');
      if (fault) fails(`after the ${press} press (${way}): ${fault}`);
      if (!sameSet(now.names, made.names)) fails(`rows are lost or changed by the ${press} press`);
    }
    if (ways[0] === ways[1]) fails(`pressing again does not turn the order: ${ways[0]} twice`);
  }
}

async function cards(page, say) {
  const options = await page.evaluate(() =>
    [...(document.querySelector('select#order')?.options ?? [])].map(({ value }) => value),
  );
  if (options.length < 2) return say.fails('no select#order with two options at least');
  const read = (option) =>
    page.evaluate(
      (value) =>
        [...document.querySelectorAll('ol#cards > li')].map((card) => ({
          value: card.getAttribute(`data-${value}`) ?? '',
          name: window.looking.words(card),
        })),
      option,
    );
  const made = (await read(options[0])).map(({ name }) => name);
  if (!made.length) say.fails('no card ol#cards > li');
  // The first is asked for last: by then the order is another.
  for (const option of [...options.slice(1), options[0]]) {
    await page.locator('select#order').selectOption(option);
    const now = await read(option);
    const names = now.map(({ name }) => name);
    if (!sameSet(names, made)) say.fails(`select#order, "${option}": cards are lost or changed`);
    if (option === options[0]) {
      if (names.join('\n') !== made.join('\n')) say.fails(`select#order, "${option}": not the order as made`);
      continue;
    }
    const values = now.map(({ value }) => value);
    if (values.every((value) => value === ''))
      say.fails(`select#order, "${option}": no card has data-${option}`);
    const numbers = values.every((value) => value === '' || Number.isFinite(Number(value)));
    const fault = disorder(values, numbers, true) && disorder(values, numbers, false);
    if (fault) say.fails(`select#order, "${option}": ${fault}`);
  }
}

const sameSet = (one, other) => [...one].sort().join('\n') === [...other].sort().join('\n');

/** The first pair out of order, or null. Cells without a value come last, whichever way. */
function disorder(values, asNumbers, rising) {
  const gap = values.findIndex((value) => value === '');
  if (gap >= 0 && values.slice(gap).some((value) => value !== ''))
    return `a place without value stands before "${values.slice(gap).find(Boolean)}"`;
  const given = gap >= 0 ? values.slice(0, gap) : values;
  if (asNumbers) {
    const odd = given.find((value) => !Number.isFinite(Number(value)));
    if (odd !== undefined) return `"${odd}" is no number`;
    return pairOutOf((a, b) => Number(a) - Number(b), given, rising);
  }
  // Text may be put in order by code or as a dictionary does it, with or without numbers inside.
  const ways = [
    (a, b) => (a < b ? -1 : a > b ? 1 : 0),
    (a, b) => a.localeCompare(b, 'en'),
    (a, b) => a.localeCompare(b, 'en', { numeric: true }),
  ];
  const faults = ways.map((way) => pairOutOf(way, given, rising));
  return faults.every(Boolean) ? faults[0] : null;
}

function pairOutOf(compare, values, rising) {
  const at = values.findIndex(
    (value, i) => i > 0 && (rising ? compare(values[i - 1], value) : compare(value, values[i - 1])) > 0,
  );
  return at < 0 ? null : `"${values[at - 1]}" stands before "${values[at]}"`;
}
