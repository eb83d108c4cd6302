// Switching of layers and sorting; the page is whole without it.
'use strict';

// A box for each label of a map that has a layer: it shows and hides the label.
for (const legend of document.querySelectorAll('.legend')) {
  const map = legend.previousElementSibling.querySelector('.mapped svg');
  if (!map) continue;
  for (const item of legend.querySelectorAll('li[data-layer]')) {
    const layers = map.querySelectorAll(`[data-layer="${item.dataset.layer}"]`);
    if (!layers.length) continue;
    const box = document.createElement('input');
    box.type = 'checkbox';
    box.checked = true;
    box.dataset.layer = item.dataset.layer;
    box.addEventListener('change', () => {
      for (const layer of layers) layer.setAttribute('visibility', box.checked ? 'visible' : 'hidden');
    });
    const label = document.createElement('label');
    label.append(box, ...item.childNodes);
    item.append(label);
  }
}

// Numbers as numbers, words as words; what is not known stays last either way.
function compare(one, other, asNumbers, turn) {
  if (one === '' || other === '') return (one === '') - (other === '');
  const by = asNumbers ? Number(one) - Number(other) : one.localeCompare(other, 'en', { numeric: true });
  return turn * by;
}

// A button in each head of the table of the load.
const table = document.getElementById('numbers');
if (table) {
  const body = table.tBodies[0];
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    if (!head.dataset.sort) return;
    const button = document.createElement('button');
    button.type = 'button';
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener('click', () => {
      const turn = head.getAttribute('aria-sort') === 'ascending' ? -1 : 1;
      for (const other of heads) other.removeAttribute('aria-sort');
      head.setAttribute('aria-sort', turn > 0 ? 'ascending' : 'descending');
      const value = (row) => row.cells[column].dataset.value;
      const rows = [...body.rows];
      rows.sort((one, other) => compare(value(one), value(other), head.dataset.sort === 'number', turn));
      body.append(...rows);
    });
  });
}

// The order of the pieces on the first screen.
const order = document.getElementById('order');
const cards = document.getElementById('cards');
if (order && cards) {
  const turns = { black: -1 };
  order.parentElement.hidden = false;
  order.addEventListener('change', () => {
    const key = order.value;
    const asNumbers = key !== 'name' && key !== 'place';
    const items = [...cards.children];
    items.sort((one, other) => compare(one.dataset[key], other.dataset[key], asNumbers, turns[key] || 1)
      || Number(one.dataset.number) - Number(other.dataset.number));
    cards.append(...items);
  });
}
