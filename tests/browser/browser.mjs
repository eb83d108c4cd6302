// A browser, and pages of one report in it. Whatever a page says or asks for is written down.
import { execFileSync } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { delimiter, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { looking } from './in-page.mjs';

const NAMES = ['chromium', 'chromium-browser'];
const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  // A part painted anew is then painted as the whole was: pictures can be compared to the last bit.
  '--disable-partial-raster',
];

/** The first Chromium on PATH; an error that says what to do where there is none. */
function executable() {
  for (const name of NAMES) {
    for (const folder of process.env.PATH.split(delimiter)) {
      const path = join(folder, name);
      try {
        accessSync(path, constants.X_OK);
        return path;
      } catch {
        /* not in this folder */
      }
    }
  }
  throw new Error('No Chromium on PATH. Install the package chromium.');
}

/** Starts the browser. The caller closes it. */
export function launch() {
  return chromium.launch({ executablePath: executable(), headless: true, args: FLAGS });
}

/**
 * One report under test. `heard` gathers, over all its pages, what no report may do: a message of level
 * warning or error, an uncaught error, a request for anything but the page itself.
 */
export class Report {
  heard = [];

  /** `out` is the folder for what people look at. */
  constructor(browser, file, out) {
    this.browser = browser;
    this.file = file;
    this.out = out;
    this.url = pathToFileURL(file).href;
  }

  /**
   * A fresh page in a context of its own: `page.context().close()` ends it. The report is loaded unless `settled`
   * is false; `unfolded` opens what a person can open or scroll to, so that it is looked at too.
   */
  async open({ width = 1280, height = 900, scripts = true, settled = true, unfolded = false } = {}) {
    const context = await this.browser.newContext({
      viewport: { width, height },
      colorScheme: 'light',
      reducedMotion: 'reduce',
      javaScriptEnabled: scripts,
    });
    context.setDefaultTimeout(20_000);
    context.on('request', (request) => this.#asked(request.url()));
    const page = await context.newPage();
    page.on('websocket', (socket) => this.#asked(socket.url()));
    page.on('pageerror', (error) => this.heard.push(`uncaught error: ${error.message}`));
    page.on('console', (message) => {
      if (['warning', 'error', 'assert'].includes(message.type())) {
        this.heard.push(`console ${message.type()}: ${message.text()}`);
      }
    });
    if (settled) {
      await page.goto(this.url, { waitUntil: 'load' });
      await page.evaluate(`(${looking})()`);
      if (unfolded)
        await page.evaluate(() => {
          document.querySelectorAll('details').forEach((one) => {
            one.open = true;
          });
          // What is laid out only when it comes near is looked at as well.
          for (const one of document.querySelectorAll('section')) one.style.contentVisibility = 'visible';
        });
    }
    return page;
  }

  #asked(url) {
    const itself = url.split('#')[0] === this.url;
    if (!itself && !/^(data|blob):/.test(url)) this.heard.push(`request for ${url}`);
  }
}

/** Runs a program and gives its standard output as text. */
export function run(program, ...words) {
  return execFileSync(program, words, { encoding: 'utf8', maxBuffer: 1 << 28 });
}

/** `work(page)` on a fresh page of `report`, which is closed whatever happens. */
export async function onPage(report, options, work) {
  const page = await report.open(options);
  try {
    return await work(page);
  } finally {
    await page.context().close();
  }
}
