import type { Placed } from '../../server/core/sheet/page.ts';
import { MARGINS_MM, measureTypeArea, PAPERS } from '../../server/core/sheet/page.ts';
import {
  CARD_MM,
  type CardChip,
  type CardGroup,
  type CardRow,
  CONTINUED,
  type ColourCard,
  listRulerMarks,
  measureChipWidth,
  measureGroupWidth,
  planCardPanel,
} from '../../server/core/sheet/plan-colour-card.ts';
import { at, escapeHtml, writeDocument, writePage } from './write-page.ts';

const RULER_MM = CARD_MM.ruler.mark + CARD_MM.ruler.numeral;

const STYLES = `
.strip { display: flex }
.strip i { flex: 1 }
.head { display: flex; justify-content: space-between; align-items: flex-end; gap: 6mm; right: 0; white-space: nowrap }
.head h1 { flex: 1; min-width: 0 }
.group { overflow: hidden; border-bottom: .2mm solid #88816f; padding-bottom: ${CARD_MM.overRule}mm; display: flex; flex-direction: column; justify-content: flex-end }
.group b { display: -webkit-box; -webkit-box-orient: vertical; -webkit-line-clamp: 2; overflow: hidden; flex: none; font-size: 9pt; line-height: ${CARD_MM.title}mm; font-weight: 600 }
.group .small { display: -webkit-box; -webkit-box-orient: vertical; -webkit-line-clamp: 2; overflow: hidden; line-height: ${CARD_MM.detail}mm }
.group.continued b { font-weight: 400; color: #5c574e }
.field { width: 100%; display: block; overflow: visible }
.chip b { display: -webkit-box; -webkit-box-orient: vertical; -webkit-line-clamp: 2; overflow: hidden; margin-top: ${CARD_MM.underField}mm; font-weight: 600; line-height: ${CARD_MM.name}mm }
.chip .small { display: block; line-height: ${CARD_MM.line}mm }
`;

/** Height of the strip of colours along the head of the first page, in mm, to the trimmed edge. */
const STRIP_MM = 7;

/** Pictures by their keys, as data URIs. */
type Pictures = Readonly<Record<string, string>>;

/** The colour card as a document to print. */
export function writeColourCard(card: ColourCard, pictures: Pictures): string {
  const pages = card.pages.map((rows, page) =>
    writePage(
      (page === 0 ? writeHead(card) : '') + rows.map((row, i) => writeRow(row, i === 0, card, pictures)).join(''),
      { title: card.title, facts: [card.line, card.date], page: page + 1, pages: card.pages.length },
    ),
  );
  return writeDocument(card, `${card.title}: colour card`, STYLES, pages);
}

/** A strip of every colour, over the edge if there is a bleed, and the card's title under it. */
function writeHead(card: ColourCard): string {
  const beyond = card.bleedMm;
  const { widthMm } = PAPERS[card.paper];
  const slices = card.strip.map((hex) => `<i style="background:${hex}"></i>`).join('');
  const strip = at(-MARGINS_MM.side - beyond, -MARGINS_MM.top - beyond, widthMm + 2 * beyond, STRIP_MM + beyond);
  const chips = card.pages.flat().flatMap(({ groups }) => groups.flatMap((group) => group.chips));
  const notes = [
    'Colours stand as they were specified; after “as”, converted to D65 and the 2° observer. ΔE00 is the distance of the delivered colour from it, whose hex is rounded; where the colour was measured for 10°, the second figure is how far such estimates are off as a rule.',
    ...(chips.some(({ panel }) => panel)
      ? [
          'Patterns are shown in true size, in the light of the studio, with a rule in millimetres; the mean is that of the material in even light.',
        ]
      : []),
    ...(chips.some(({ lit }) => lit) ? ['Beside its colour a metal is shown lit, as a sphere.'] : []),
  ];
  return `<div class="strip" ${strip}>${slices}</div>
<div class="head" ${at(0, 0)}><h1 class="line">${escapeHtml(card.title)}</h1><div>Colour card · ${card.finishes} ${card.finishes === 1 ? 'finish' : 'finishes'} · ${card.date}</div></div>
<div class="small" ${at(0, 11, measureTypeArea(card.paper).widthMm)}>${notes.join(' ')}</div>`;
}

/** When a page begins in the middle of a group, the group's title is in the margin above it. */
function writeRow(row: Placed<CardRow>, first: boolean, card: ColourCard, pictures: Pictures): string {
  const topMm = row.topMm + CARD_MM.above;
  const headingMm = row.headingMm > 0 ? row.headingMm : first ? CARD_MM.title + CARD_MM.underHeading : 0;
  const fieldsMm = topMm + row.headingMm;
  return row.groups
    .map((group) => {
      const left = (column: number) => column * (measureChipWidth(card) + CARD_MM.gap);
      const heading =
        headingMm === 0
          ? ''
          : writeHeading(
              group,
              at(
                left(group.column),
                fieldsMm - headingMm,
                measureGroupWidth(card, group.chips.length),
                headingMm - CARD_MM.underHeading,
              ),
            );
      const chips = group.chips.map((chip, i) =>
        writeChip(chip, card, at(left(group.column + i), fieldsMm, measureChipWidth(card)), pictures),
      );
      return heading + chips.join('');
    })
    .join('');
}

function writeHeading({ title, detail, continued }: CardGroup, place: string): string {
  const said = detail === '' ? '' : `<span class="small">${escapeHtml(detail)}</span>`;
  return `<div class="group${continued ? ' continued' : ''}" ${place}><b>${escapeHtml(title)}${continued ? CONTINUED : ''}</b>${said}</div>`;
}

function writeChip(chip: CardChip, card: ColourCard, place: string, pictures: Pictures): string {
  const print = chip.lines.map((line) => `<span class="small line">${escapeHtml(line)}</span>`).join('');
  return `<div class="chip" ${place}>${writeField(chip, card, pictures)}<b>${escapeHtml(chip.name)}</b>${print}</div>`;
}

/**
 * The flat colour, or the piece at 1 : 1 with a ruler under it. A metal in the light of the studio is to the right of
 * it. It is an SVG, clipped by the inner one, which a browser prints at its exact size. A browser moves other pictures
 * to whole pixels of 1/96 inch, up to a tenth of a millimetre off.
 */
function writeField({ hex, panel, lit }: CardChip, card: ColourCard, pictures: Pictures): string {
  const { fieldMm } = card;
  const { widthMm, sideMm, leftMm, topMm } = planCardPanel(card);
  const sphere = lit === null ? undefined : pictures[lit];
  const piece = panel === null ? undefined : pictures[panel];
  const wide = sphere ? widthMm - fieldMm : widthMm;
  const box = (width: number) => `width="${round(width)}" height="${fieldMm}"`;
  const parts = [
    piece
      ? `<svg ${box(wide)}><image x="${leftMm}" y="${topMm}" width="${sideMm}" height="${sideMm}" href="${piece}"/></svg>${writeRuler(wide, fieldMm)}`
      : `<rect ${box(wide)} fill="${hex}"/>`,
    ...(sphere ? [`<image x="${round(wide)}" ${box(fieldMm)} href="${sphere}"/>`] : []),
    `<rect ${box(widthMm)} fill="none" stroke="#88816f" stroke-width=".2"/>`,
  ];
  return `<svg class="field" style="height:${fieldMm}mm" viewBox="0 0 ${widthMm} ${fieldMm}">${parts.join('')}</svg>`;
}

/** A ruler along the lower edge. Its marks begin at the piece, with a number under every tenth. */
function writeRuler(widthMm: number, fieldMm: number): string {
  const top = round(fieldMm - RULER_MM);
  const marks = listRulerMarks(widthMm);
  const lines = marks.map(({ atMm, lengthMm }) => `M${atMm} ${top}v${round(lengthMm)}`).join('');
  const numerals = marks.flatMap(({ atMm, numeral }) =>
    numeral === null
      ? []
      : [
          atMm === 0
            ? `<text x=".4" y="${round(fieldMm - 0.5)}">0 mm</text>`
            : `<text x="${atMm}" y="${round(fieldMm - 0.5)}" text-anchor="middle">${numeral}</text>`,
        ],
  );
  return `<rect y="${top}" width="${round(widthMm)}" height="${RULER_MM}" fill="#fff"/><path stroke="#1d1a16" stroke-width=".12" d="M0 ${top}H${round(widthMm)}${lines}"/><g fill="#1d1a16" font-size="1.9">${numerals.join('')}</g>`;
}

const round = (mm: number) => Math.round(mm * 1000) / 1000;
