import type { Page } from 'puppeteer-core';
import { addLongSchedule, LONG } from '../support/long-schedule.ts';
import { openPages } from '../support/open-pages.ts';
import { startService } from '../support/start-service.ts';
import { row, show, summarise, type Times } from './measure.ts';

const SLOTS = 12;
const ROWS = 2000;
const FEW_ROWS = 20;
const RUNS = 25;

/** Keys, filter and replace in the grid of a schedule, from the event to the painted frame, beside one of twenty rows. */
export async function benchGrid(): Promise<void> {
  const few = await measure(FEW_ROWS);
  const many = await measure(ROWS);
  console.log(`\nThe schedule in a browser: ${SLOTS} slots × ${ROWS} rows (÷ the same at ${FEW_ROWS} rows)`);
  const aims: Record<keyof Figures, string> = {
    arrow: 'aim < 50 ms',
    page: 'aim < 50 ms',
    choose: 'aim < 50 ms',
    filter: 'aim < 100 ms',
    replace: 'aim < 100 ms',
    sort: '',
  };
  for (const name of Object.keys(aims) as (keyof Figures)[]) {
    const ratio = (many[name].median / few[name].median).toFixed(2);
    row(NAMES[name], `${show(many[name])}  ÷ ${ratio}`, aims[name]);
  }
}

type Figures = Record<'arrow' | 'page' | 'choose' | 'filter' | 'replace' | 'sort', Times>;

const NAMES: Record<keyof Figures, string> = {
  arrow: 'an arrow key, to the painted frame',
  page: 'Page down, to the painted frame',
  choose: 'Delete in a cell, to the painted frame',
  filter: 'a filter is ticked, to the painted frame',
  replace: 'a finish is replaced in a column, to the painted frame',
  sort: 'sorted by a slot, to the painted frame',
};

async function measure(rows: number): Promise<Figures> {
  const service = await startService();
  const { browser, page } = await openPages([]);
  try {
    await addLongSchedule(service, SLOTS, rows);
    await page.goto(`${service.url}/products/${LONG}/schedule`);
    await page.waitForSelector('.grid [role="gridcell"]');
    await page.evaluate(() => {
      const cell = document.querySelector('.grid [aria-rowindex="3"] [aria-colindex="6"]')!;
      cell.dispatchEvent(new MouseEvent('mousedown', { bubbles: true }));
    });
    await page.waitForFunction(() => document.activeElement?.role === 'gridcell');
    const press = (...keys: string[]) => time(page, `press(${JSON.stringify(keys)})`);
    return {
      arrow: await press('ArrowDown'),
      choose: await press('Delete'),
      page: await press('PageDown', 'PageUp'),
      filter: await time(page, 'filter()'),
      sort: await time(page, 'sort()'),
      replace: await time(page, 'replace()'),
    };
  } finally {
    await browser.close();
    await service.close();
  }
}

/** Runs an action of the page repeatedly, and takes the time from its event to the frame after the next. */
async function time(page: Page, action: string): Promise<Times> {
  const samples = (await page.evaluate(`(async () => {
    const painted = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
    const key = (key, more) => document.activeElement.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true, ...more }));
    const wait = async (find) => { for (;;) { const found = find(); if (found) return found; await painted(); } };
    let turn = 0;
    const press = async (keys) => { const name = keys[turn++ % keys.length]; const from = performance.now(); key(name); await painted(); return performance.now() - from; };
    const openHead = async () => {
      document.querySelectorAll('.grid [role="columnheader"]')[4].click();
      return wait(() => document.querySelector('.column-panel'));
    };
    const filter = async () => {
      const panel = await openHead();
      const box = panel.querySelector('.values input');
      const from = performance.now(); box.click(); await painted();
      return performance.now() - from;
    };
    const sort = async () => {
      const panel = await openHead();
      const box = panel.querySelectorAll('input[name="order"]')[turn++ % 2];
      const from = performance.now(); box.click(); await painted();
      return performance.now() - from;
    };
    const replace = async () => {
      if (!document.querySelector('.replace-panel')) [...document.querySelectorAll('button')].find((each) => each.textContent === 'Replace a finish').click();
      const button = await wait(() => document.querySelector('.replace-panel button.main'));
      const from = performance.now(); button.click(); await painted();
      return performance.now() - from;
    };
    const samples = [];
    for (let run = -3; run < ${RUNS}; run++) { const ms = await ${action}; if (run >= 0) samples.push(ms); }
    return samples;
  })()`)) as number[];
  return summarise(samples);
}
