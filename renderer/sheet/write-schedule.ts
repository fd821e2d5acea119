import type { Placed } from '../../server/core/sheet/page.ts';
import type { ScheduleHead, SheetVariant } from '../../server/core/sheet/plan-schedule.ts';
import {
  COMPACT_MM,
  type CompactSchedule,
  measureCellWidth,
  SCHEDULE_MM,
  type ScheduleSheet,
  type SheetRow,
} from '../../server/core/sheet/plan-schedule.ts';
import { at, escapeHtml, writeDocument, writePage, writeSpot } from './write-page.ts';

const HEAD_STYLES = `
.head { right: 0; border-bottom: .2mm solid #88816f }
.head div { display: flex; justify-content: space-between; gap: 6mm; padding-top: 1.6mm }
`;

/** Title, subtitle and the facts of the product, above a line; `heightMm` includes the line. */
function writeScheduleHead(sheet: ScheduleHead, heightMm: number): string {
  const { title, product, subtitle, size, rows, date } = sheet;
  const facts = [product, size, `${rows} ${rows === 1 ? 'variant' : 'variants'}`, date].filter((fact) => fact !== null);
  return `<div class="head" ${at(0, 0, undefined, heightMm)}><h1 class="line">${escapeHtml(title)}</h1><div><span>${escapeHtml(subtitle)}</span><span>${escapeHtml(facts.join(' · '))}</span></div></div>`;
}

const ROW_STYLES = `${HEAD_STYLES}
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
  return writeDocument(sheet, `${sheet.title}: ${sheet.subtitle.toLowerCase()}`, ROW_STYLES, pages);
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

/** Space above and below a key, in mm. */
const KEY_GAP_MM = 0.8;

const TABLE_STYLES = `${HEAD_STYLES}
.key { right: 0; line-height: ${COMPACT_MM.line}mm }
.cell { border-bottom: .1mm solid #d8d2c5 }
.cell img { position: absolute; left: 0; top: 1mm; width: ${COMPACT_MM.picture}mm; height: ${COMPACT_MM.picture}mm }
.cell .said { position: absolute; right: 0; top: 1mm; font-size: 7pt; line-height: ${COMPACT_MM.choice}mm }
.cell .code { font-weight: 600; line-height: ${COMPACT_MM.code}mm }
.choice { display: grid; grid-template-columns: 2.6mm 3mm minmax(0, max-content) minmax(0, 1fr); column-gap: 1mm; height: ${COMPACT_MM.choice}mm; align-items: center; color: #5c574e }
.choice .finish { color: #1d1a16 }
.cell .name { position: absolute; left: 0; right: 0; bottom: 1mm; height: ${COMPACT_MM.name}mm; font-size: 7pt; line-height: ${COMPACT_MM.name / 2}mm; display: -webkit-box; -webkit-box-orient: vertical; -webkit-line-clamp: 2; overflow: hidden }
`;

/** A schedule as a grid to print; `pictures` are data URIs by the keys of the variants. */
export function writeCompactSchedule(sheet: CompactSchedule, pictures: Readonly<Record<string, string>>): string {
  const widthMm = measureCellWidth(sheet);
  const pages = sheet.pages.map((rows, page) => {
    const headMm = COMPACT_MM.head - 2 * KEY_GAP_MM;
    // On later pages, the key to the numbers is in the margin above.
    const head = page === 0 ? writeScheduleHead(sheet, headMm) : '';
    const keyTop = page === 0 ? headMm + KEY_GAP_MM : -sheet.keyMm - KEY_GAP_MM;
    const cells = rows.flatMap(({ variants, topMm, heightMm }) =>
      variants.map((variant, i) =>
        writeCell(variant, at(i * (widthMm + COMPACT_MM.gap), topMm, widthMm, heightMm), widthMm, pictures),
      ),
    );
    return writePage(`${head}<div class="key small" ${at(0, keyTop)}>${escapeHtml(sheet.key)}</div>${cells.join('')}`, {
      title: sheet.title,
      facts: [sheet.product, sheet.date],
      page: page + 1,
      pages: sheet.pages.length,
    });
  });
  return writeDocument(sheet, `${sheet.title}: ${sheet.subtitle.toLowerCase()}`, TABLE_STYLES, pages);
}

function writeCell(
  { code, name, isDefault, choices, picture }: SheetVariant,
  place: string,
  widthMm: number,
  pictures: Readonly<Record<string, string>>,
): string {
  const uri = picture === null ? undefined : pictures[picture];
  const image = uri === undefined ? '' : `<img src="${uri}" alt="">`;
  const left = uri === undefined ? 0 : COMPACT_MM.picture + 1.5;
  const finishes = choices.map((choice, i) => {
    if (choice === null) return `<div class="choice"><span>${i + 1}</span></div>`;
    const { finish, hex, name: finishName } = choice;
    const label = uri === undefined ? `<span class="line">${escapeHtml(finishName)}</span>` : '';
    return `<div class="choice"><span>${i + 1}</span>${writeSpot(hex, 3, 2)}<span class="finish line">${escapeHtml(finish)}</span>${label}</div>`;
  });
  const text = `<div class="said" style="width:${widthMm - left}mm"><div class="code line">${escapeHtml(code)}${isDefault ? ' · shown first' : ''}</div>${finishes.join('')}</div>`;
  return `<div class="cell" ${place}>${image}${text}<div class="name">${escapeHtml(name)}</div></div>`;
}
