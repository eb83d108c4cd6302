// Each piece has boxes in its legend that hide and show the layers of its drawn map: by computed style and by pixels.
import { onPage } from '../browser.mjs';

export const title = 'layers of the map';

export async function check(report, say) {
  // Tall enough that map and legend are in sight together: nothing scrolls between two pictures.
  await onPage(report, { height: 1600 }, async (page) => {
    const pieces = await page.evaluate(survey);
    const layers = pieces.reduce((sum, { boxes }) => sum + boxes.length, 0);
    if (!layers) say.fails('no piece has a box input[type=checkbox][data-layer] in ul.legend li[data-layer]');
    for (const { where, faults } of pieces) for (const fault of faults) say.fails(`${where}: ${fault}`);
    for (const { index, where, boxes } of pieces) {
      for (const name of boxes)
        await turn(page, index, name, (line) => say.fails(`${where}, layer ${name}: ${line}`));
    }
    say.notes(`${layers} layers in ${pieces.length} pieces switched off and on`);
  });
}

/** In the page: the boxes of every piece, and what does not fit the map. Names the layers both have. */
function survey() {
  return [...document.querySelectorAll('section.piece')].map((piece, index) => {
    const faults = [];
    const boxes = [];
    const map = piece.querySelector('figure.mapped svg');
    const entries = [...piece.querySelectorAll('ul.legend li[data-layer]')];
    if (map && !entries.length) faults.push('a drawn map, and no ul.legend li[data-layer]');
    if (!map && entries.length) faults.push('a legend of layers, and no figure.mapped svg');
    for (const entry of entries) {
      const name = entry.dataset.layer;
      const own = [...entry.querySelectorAll('input[type=checkbox]')];
      const layer =
        map && [...map.querySelectorAll('[data-layer]')].some((part) => part.dataset.layer === name);
      if (own.length !== 1)
        faults.push(`${own.length} boxes at layer ${name} of the legend, there should be one`);
      else if (own[0].dataset.layer !== name)
        faults.push(`the box at layer ${name} is for "${own[0].dataset.layer}"`);
      else if (!own[0].checked) faults.push(`the box of layer ${name} is not set as the page opens`);
      else if (map && !layer) faults.push(`the map has no [data-layer=${name}]`);
      else if (map) boxes.push(name);
    }
    return { index, where: `#${piece.id}`, faults, boxes };
  });
}

/** Switches one layer off and on again by keyboard, as a person would. */
async function turn(page, index, name, fails) {
  const piece = page.locator('section.piece').nth(index);
  const box = piece.locator(`input[type=checkbox][data-layer=${JSON.stringify(name)}]`);
  const map = piece.locator('figure.mapped svg').first();
  const shown = () => page.evaluate(layerShown, { index, name });
  const picture = () => map.screenshot({ animations: 'disabled' });
  if ((await shown()).here !== 'all') return fails('is not shown as the page opens');
  await box.focus();
  const before = await picture();
  const others = (await shown()).elsewhere;
  await page.keyboard.press('Space');
  const off = await shown();
  if (off.here !== 'none') fails(`the box is off, ${off.here} of it still shown`);
  if (off.elsewhere !== others) fails('its box changes another layer, or the map of another piece');
  if ((await picture()).equals(before)) fails('the box is off, and no pixel of the map changed');
  await page.keyboard.press('Space');
  if ((await shown()).here !== 'all') fails('the box is on again, and the layer is not shown');
  if (!(await picture()).equals(before)) fails('the box is on again, and the map is not as it was');
}

/** In the page: how much of a layer is shown in a piece, and how many parts of all other layers and pieces. */
function layerShown({ index, name }) {
  const here = [];
  const others = [];
  [...document.querySelectorAll('section.piece')].forEach((piece, at) => {
    for (const part of piece.querySelectorAll('figure.mapped svg [data-layer]')) {
      (at === index && part.dataset.layer === name ? here : others).push(window.looking.shown(part));
    }
  });
  const count = here.filter(Boolean).length;
  return {
    here: count === 0 ? 'none' : count === here.length ? 'all' : 'a part',
    elsewhere: others.filter(Boolean).length,
  };
}
