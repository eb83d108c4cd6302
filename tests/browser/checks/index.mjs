// All checks, in the order they run. `quiet` is last: it tells what was heard during all of them.
import * as access from './access.mjs';
import * as keyboard from './keyboard.mjs';
import * as layers from './layers.mjs';
import * as opening from './opening.mjs';
import * as pieces from './pieces.mjs';
import * as printing from './printing.mjs';
import * as quiet from './quiet.mjs';
import * as reflow from './reflow.mjs';
import * as size from './size.mjs';
import * as sorting from './sorting.mjs';
import * as withoutScript from './without-script.mjs';
import * as words from './words.mjs';

export const ALL = {
  opening,
  access,
  reflow,
  keyboard,
  pieces,
  layers,
  withoutScript,
  sorting,
  printing,
  words,
  quiet,
};

/** What is asked of a report of many pieces. */
export const LARGE = { size, opening };

/** What is asked of the page of a trial, which has no pieces, layers, sorting or number. */
export const TRIAL = { opening, access, reflow, keyboard, withoutScript, words, quiet };
