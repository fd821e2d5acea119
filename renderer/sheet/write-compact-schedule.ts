import { COMPACT_MM, type CompactSchedule, measureCellWidth } from '../../server/core/sheet/plan-compact-schedule.ts';
import type { SheetVariant } from '../../server/core/sheet/schedule-source.ts';
import { escapeHtml } from './escape-html.ts';
import { at, writeDocument, writePage, writeSpot } from './write-page.ts';
import { HEAD_STYLES, writeScheduleHead } from './write-schedule-head.ts';

/** Between a key and what is over or under it, in mm. */
const KEY_GAP_MM = 0.8;

const STYLES = `${HEAD_STYLES}
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
    // on later pages what the numbers mean stands in the margin above
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
  return writeDocument(sheet, `${sheet.title}: ${sheet.subtitle.toLowerCase()}`, STYLES, pages);
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
  const worn = choices.map((choice, i) => {
    if (choice === null) return `<div class="choice"><span>${i + 1}</span></div>`;
    const { finish, hex, name: finishName } = choice;
    const label = uri === undefined ? `<span class="line">${escapeHtml(finishName)}</span>` : '';
    return `<div class="choice"><span>${i + 1}</span>${writeSpot(hex, 3, 2)}<span class="finish line">${escapeHtml(finish)}</span>${label}</div>`;
  });
  const said = `<div class="said" style="width:${widthMm - left}mm"><div class="code line">${escapeHtml(code)}${isDefault ? ' · shown first' : ''}</div>${worn.join('')}</div>`;
  return `<div class="cell" ${place}>${image}${said}<div class="name">${escapeHtml(name)}</div></div>`;
}
