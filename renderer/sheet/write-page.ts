import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { MARGINS_MM, PAPERS, SHEET_CAUTION, type SheetFormat } from '../../server/core/sheet/page.ts';

/** The foot of every page. */
interface PageFoot {
  /** Shortened if it is too long, unlike the facts after it. */
  readonly title: string;
  readonly facts: readonly string[];
  readonly page: number;
  readonly pages: number;
}

/** One page as a box of its own size; positions in it are mm from the corner of the type area. */
export function writePage(body: string, foot: PageFoot): string {
  return `<section class="page"><div class="type">${body}</div>
<footer><span class="foot"><span class="line">${escapeHtml(foot.title)}</span>${escapeHtml(foot.facts.map((fact) => ` · ${fact}`).join(''))}</span><span class="caution">${escapeHtml(SHEET_CAUTION)}</span><span>${foot.page} / ${foot.pages}</span></footer></section>`;
}

/**
 * Scale of the layout relative to the print. A browser moves lines, boxes and pictures to whole pixels of 1/96 inch. A
 * larger layout keeps them within 0.04 mm, and lines may be thinner than a pixel.
 */
export const LAYOUT_ZOOM = 4;
/**
 * Margin added to each side of the page and cut off afterwards, because the browser rounds pages down to whole pixels.
 */
const OVERSIZE_MM = 0.5;

/** A self-contained document: it embeds fonts and pictures, and allows no scripts. */
export function writeDocument(
  { paper, bleedMm }: SheetFormat,
  title: string,
  styles: string,
  pages: readonly string[],
): string {
  const { widthMm, heightMm } = PAPERS[paper];
  const [width, height] = [widthMm + 2 * bleedMm, heightMm + 2 * bleedMm];
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${escapeHtml(title)}</title>
<meta http-equiv="content-security-policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:">
<style>
@page { size: ${width + OVERSIZE_MM}mm ${height + OVERSIZE_MM}mm; margin: 0 }
* { box-sizing: border-box; margin: 0; padding: 0 }
html { zoom: ${LAYOUT_ZOOM}; -webkit-print-color-adjust: exact; print-color-adjust: exact }
body { font: 8pt/3.4mm "Source Sans 3", sans-serif; text-rendering: geometricPrecision; font-synthesis: none; overflow-wrap: anywhere; font-variant-numeric: lining-nums tabular-nums; color: #1d1a16 }
.page { position: relative; width: ${width}mm; height: ${height}mm; overflow: hidden; break-after: page; break-inside: avoid }
.page:last-child { break-after: auto }
.type { position: absolute; left: ${bleedMm + MARGINS_MM.side}mm; right: ${bleedMm + MARGINS_MM.side}mm; top: ${bleedMm + MARGINS_MM.top}mm; bottom: ${bleedMm + MARGINS_MM.bottom}mm }
.type > * { position: absolute }
footer { position: absolute; left: ${bleedMm + MARGINS_MM.side}mm; right: ${bleedMm + MARGINS_MM.side}mm; bottom: ${bleedMm + 8}mm; display: flex; gap: 6mm; align-items: baseline; border-top: .2mm solid #d8d2c5; padding-top: 1.6mm; font-size: 6.5pt; line-height: 3mm; color: #5c574e; white-space: nowrap }
footer .foot { display: flex; white-space: pre }
footer .foot .line { max-width: 36mm }
footer .caution { flex: 1; text-align: center; white-space: normal }
h1 { font-size: 22pt; line-height: 9mm; font-weight: 300; letter-spacing: -.01em }
.small { font-size: 7pt; line-height: 3.1mm; color: #5c574e }
.line { white-space: nowrap; overflow: hidden; text-overflow: ellipsis }
${styles}</style></head><body>${pages.join('')}</body></html>`;
}

/** A small field of colour in a line of text. */
export function writeSpot(hex: string, widthMm: number, heightMm: number): string {
  return `<svg class="spot" style="width:${widthMm}mm;height:${heightMm}mm" viewBox="0 0 ${widthMm} ${heightMm}"><rect x=".05" y=".05" width="${round(widthMm - 0.1)}" height="${round(heightMm - 0.1)}" fill="${hex}" stroke="#88816f" stroke-width=".1"/></svg>`;
}

/** A position in the type area, in mm. */
export function at(leftMm: number, topMm: number, widthMm?: number, heightMm?: number): string {
  const sides = [
    `left:${round(leftMm)}mm`,
    `top:${round(topMm)}mm`,
    ...(widthMm === undefined ? [] : [`width:${round(widthMm)}mm`]),
    ...(heightMm === undefined ? [] : [`height:${round(heightMm)}mm`]),
  ];
  return `style="${sides.join(';')}"`;
}

const round = (mm: number) => Math.round(mm * 1000) / 1000;

const SIGNS: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Escapes text for content and attributes. */
export function escapeHtml(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => SIGNS[sign]!);
}

let written: Promise<string> | undefined;

/** Font weights of the sheets: titles, text, names. */
const WEIGHTS = [300, 400, 600] as const;

/**
 * The typeface of the sheets as CSS rules with embedded font files, one for each weight and script. A printed file
 * contains only the letters it uses. The files are static, because the browser prints variable fonts as Type 3 fonts,
 * which a printer's preflight refuses.
 */
export function embedFonts(): Promise<string> {
  written ??= readFaces();
  written.catch(() => {
    written = undefined;
  });
  return written;
}

async function readFaces(): Promise<string> {
  const { resolve } = createRequire(import.meta.url);
  return (
    await Promise.all(WEIGHTS.map((weight) => readFace(resolve(`@fontsource/source-sans-3/${weight}.css`))))
  ).join('');
}

async function readFace(path: string): Promise<string> {
  const rules = (await readFile(path, 'utf8'))
    .replace(/\/\*.*?\*\//gs, '')
    .replace(/, url\([^)]*\.woff\) format\('woff'\)/g, '');
  const files = [...rules.matchAll(/url\(\.\/(files\/[\w.-]+\.woff2)\)/g)].map(([, file]) => file!);
  const bytes = await Promise.all(files.map((file) => readFile(join(dirname(path), file))));
  return files.reduce(
    (css, file, i) => css.replace(`url(./${file})`, `url(data:font/woff2;base64,${bytes[i]!.toString('base64')})`),
    rules,
  );
}
