import { type CardPanel, listRulerMarks, planCardPanel } from '../../server/core/sheet/card-panel.ts';
import { MARGINS_MM, measureTypeArea, PAPERS } from '../../server/core/sheet/paper.ts';
import {
  CARD_MM,
  type CardBlock,
  type CardChip,
  type ColourCard,
  measureChipWidth,
} from '../../server/core/sheet/plan-colour-card.ts';
import { escapeHtml } from './escape-html.ts';
import { at, writeDocument, writePage } from './write-page.ts';

/** A field without the gap under it, and the rule in it with room above its longest marks, in mm. */
const FIELD_MM = CARD_MM.chipHeight - 1;
const RULER_MM = CARD_MM.ruler + 0.4;

const STYLES = `
.strip { display: flex }
.strip i { flex: 1 }
.head { display: flex; justify-content: space-between; align-items: flex-end; right: 0 }
.article { right: 0; padding-top: 5mm; border-bottom: .2mm solid #88816f; display: flex; justify-content: space-between; align-items: baseline; gap: 6mm }
.article b { font-size: 11pt; font-weight: 600; line-height: 5mm }
.grade { right: 0; padding-top: 2.4mm; font-weight: 600 }
.field { width: 100%; height: ${FIELD_MM}mm; display: block; border: .1mm solid #88816f }
.panel { border: 0; overflow: visible }
.chip b { display: block; padding-top: 1.6mm; font-weight: 600; height: 5mm }
.chip .small { display: block }
`;

/** Height of the strip of colours along the head of the first page, in mm, to the trimmed edge. */
const STRIP_MM = 7;

/** The colour card as a document to print; `panels` are pictures by their keys, as data URIs. */
export function writeColourCard(card: ColourCard, panels: Readonly<Record<string, string>>): string {
  const foot = `${card.title} · ${card.line} · ${card.date}`;
  const pages = card.pages.map((blocks, page) =>
    writePage((page === 0 ? writeHead(card) : '') + blocks.map((block) => writeBlock(block, card, panels)).join(''), {
      left: foot,
      page: page + 1,
      pages: card.pages.length,
    }),
  );
  return writeDocument(card, `${card.title}: colour card`, STYLES, pages);
}

/** A strip of every colour, off the edge where there is a bleed, and under it what the card is. */
function writeHead(card: ColourCard): string {
  const beyond = card.bleedMm;
  const { widthMm } = PAPERS[card.paper];
  const slices = card.strip.map((hex) => `<i style="background:${hex}"></i>`).join('');
  const strip = at(-MARGINS_MM.side - beyond, -MARGINS_MM.top - beyond, widthMm + 2 * beyond, STRIP_MM + beyond);
  const panels = card.pages.flat().some((block) => block.kind === 'chips' && block.chips.some((chip) => chip.panel));
  const scale = panels
    ? ' Patterns are shown in true size, in the light of the studio, with a rule in millimetres; the mean is that of the material in even light.'
    : '';
  const note =
    'Colours stand as they were specified, after an arrow converted to D65 and the 2° observer. ΔE00 is the distance of the delivered colour from it, whose hex is rounded; where the colour was measured for 10°, the second figure is how far such estimates are off as a rule.' +
    scale;
  return `<div class="strip" ${strip}>${slices}</div>
<div class="head" ${at(0, 1)}><h1>${escapeHtml(card.title)}</h1><div>Colour card · ${card.finishes} ${card.finishes === 1 ? 'finish' : 'finishes'} · ${card.date}</div></div>
<div class="small" ${at(0, 16, Math.min(130, measureTypeArea(card.paper).widthMm))}>${note}</div>`;
}

function writeBlock(block: CardBlock & { topMm: number }, card: ColourCard, panels: Readonly<Record<string, string>>) {
  switch (block.kind) {
    case 'article':
      return `<div class="article" ${at(0, block.topMm, undefined, block.heightMm - 2)}><b>${escapeHtml(block.title)}</b><span class="small">${escapeHtml(block.detail)}</span></div>`;
    case 'grade':
      return `<div class="grade" ${at(0, block.topMm)}>${escapeHtml(block.title)}</div>`;
    case 'chips': {
      const width = measureChipWidth(card);
      return block.chips
        .map((chip, i) => writeChip(chip, card, at(i * (width + CARD_MM.gap), block.topMm + 1, width), panels))
        .join('');
    }
  }
}

function writeChip(
  { name, hex, lines, panel }: CardChip,
  card: ColourCard,
  place: string,
  panels: Readonly<Record<string, string>>,
): string {
  const picture = panel === null ? undefined : panels[panel];
  const field = picture
    ? writePanel(picture, planCardPanel(card))
    : `<span class="field" style="background:${hex}"></span>`;
  const print = lines.map((line) => `<span class="small line">${escapeHtml(line)}</span>`).join('');
  return `<div class="chip" ${place}>${field}<b class="line">${escapeHtml(name)}</b>${print}</div>`;
}

/**
 * The piece in its field, 1 : 1, and a rule along its lower edge. It is drawn as SVG, which a browser prints as large as it
 * says, and cut where the inner one ends; other pictures are moved onto whole pixels of 1/96 inch, and then are a tenth of a
 * millimetre off.
 */
function writePanel(picture: string, { widthMm, sideMm, leftMm, topMm }: CardPanel): string {
  const marks = listRulerMarks(widthMm).map(({ atMm, lengthMm }) => `M${atMm} ${FIELD_MM}v${-lengthMm}`);
  const edge = `M0 ${FIELD_MM - RULER_MM}H${widthMm}V${FIELD_MM}H0Z`;
  const box = `width="${widthMm}" height="${FIELD_MM}"`;
  const image = `<image x="${leftMm}" y="${topMm}" width="${sideMm}" height="${sideMm}" href="${picture}"/>`;
  return `<svg class="field panel" viewBox="0 0 ${widthMm} ${FIELD_MM}"><svg ${box}>${image}</svg><path fill="#fff" d="${edge}"/><path stroke="#1d1a16" stroke-width=".12" d="${marks.join('')}"/><rect ${box} fill="none" stroke="#88816f" stroke-width=".2"/></svg>`;
}
