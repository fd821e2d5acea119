import type { Placed } from '../../server/core/sheet/flow-blocks.ts';
import { SCHEDULE_MM, type ScheduleSheet, type SheetRow } from '../../server/core/sheet/plan-schedule-sheet.ts';
import { escapeHtml } from './escape-html.ts';
import { at, writeDocument, writePage, writeSpot } from './write-page.ts';
import { HEAD_STYLES, writeScheduleHead } from './write-schedule-head.ts';

const STYLES = `${HEAD_STYLES}
.row { right: 0; border-bottom: .2mm solid #d8d2c5; padding-top: 2mm; display: flex; gap: 6mm }
.row img { width: ${SCHEDULE_MM.picture}mm; height: ${SCHEDULE_MM.picture}mm }
.row .said { width: 42mm }
.row .said b { display: block; font-size: 10pt; font-weight: 600; line-height: 4.6mm }
.row .choices { flex: 1; padding-top: .6mm }
.choice { display: grid; grid-template-columns: 28mm 7mm 19mm minmax(0, 1fr); height: ${SCHEDULE_MM.choice}mm; align-items: center; column-gap: 2mm }
`;

/** A schedule as a document to print; `pictures` are data URIs by the keys of the rows. */
export function writeScheduleSheet(sheet: ScheduleSheet, pictures: Readonly<Record<string, string>>): string {
  const pages = sheet.pages.map((rows, page) =>
    writePage(
      (page === 0 ? writeScheduleHead(sheet, SCHEDULE_MM.head - 6) : '') +
        rows.map((row) => writeRow(row, pictures)).join(''),
      {
        title: sheet.title,
        facts: [sheet.product, sheet.date],
        page: page + 1,
        pages: sheet.pages.length,
      },
    ),
  );
  return writeDocument(sheet, `${sheet.title}: ${sheet.subtitle.toLowerCase()}`, STYLES, pages);
}

function writeRow(row: Placed<SheetRow>, pictures: Readonly<Record<string, string>>): string {
  const picture = row.picture === null ? undefined : pictures[row.picture];
  const image = picture === undefined ? '' : `<img src="${picture}" alt="">`;
  const choices = row.choices
    .filter((choice) => choice !== null)
    .map(
      ({ slot, finish, name, hex }) =>
        `<div class="choice"><span class="line">${escapeHtml(slot)}</span>${writeSpot(hex, 7, 3)}<span class="line">${escapeHtml(finish)}</span><span class="line">${escapeHtml(name)}</span></div>`,
    )
    .join('');
  const said = `<div class="said"><b>${escapeHtml(row.name)}</b><span class="small">${escapeHtml(row.code)}${row.isDefault ? ' · shown first' : ''}</span></div>`;
  return `<div class="row" ${at(0, row.topMm, undefined, row.heightMm)}>${image}${said}<div class="choices">${choices}</div></div>`;
}
