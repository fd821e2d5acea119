import { createHash } from 'node:crypto';
import { deflateSync } from 'node:zlib';
import {
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFHeader,
  PDFHexString,
  PDFName,
  PDFRef,
  PDFStream,
  PDFString,
} from '@cantoo/pdf-lib';
import type { Browser } from 'puppeteer-core';
import { toXml } from '../../server/core/picture/write-xmp.ts';
import type { Sheet, SheetPictures } from '../../server/core/ports/renderer.ts';
import { PAPERS } from '../../server/core/sheet/page.ts';
import { makeSrgbProfile } from './srgb-profile.ts';
import { writeColourCard } from './write-colour-card.ts';
import { embedFonts, LAYOUT_ZOOM } from './write-page.ts';
import { writeCompactSchedule, writeScheduleSheet } from './write-schedule.ts';

/**
 * Prints a sheet as PDF in a tab of its own. The document is self-contained and may load nothing. On one machine and
 * browser, the same sheet gives the same bytes.
 */
export async function printSheet(browser: Browser, sheet: Sheet, pictures: SheetPictures): Promise<Uint8Array> {
  const html = writeSheet(sheet, pictures).replace('<style>', `<style>${await embedFonts()}`);
  const page = await browser.newPage();
  // The caller has a deadline that grows with the sheet.
  page.setDefaultTimeout(0);
  try {
    await page.setContent(html, { waitUntil: 'load' });
    await page.evaluate('document.fonts.ready.then(() => true)');
    const bytes = await page.pdf({
      scale: 1 / LAYOUT_ZOOM,
      preferCSSPageSize: true,
      printBackground: true,
      tagged: true,
    });
    return await markPdf(bytes, sheet, nameDocument(sheet, pictures));
  } finally {
    await page.close().catch(() => undefined);
  }
}

/** 32 hexadecimal digits that are the same for the same sheet. */
function nameDocument(sheet: Sheet, pictures: SheetPictures): string {
  const hash = createHash('sha256').update(JSON.stringify(sheet));
  for (const [key, bytes] of Object.entries(pictures)) hash.update(key).update(bytes);
  return hash.digest('hex').slice(0, 32);
}

function writeSheet(sheet: Sheet, pictures: SheetPictures): string {
  const uris = Object.fromEntries(Object.entries(pictures).map(([key, bytes]) => [key, toUri(bytes)]));
  switch (sheet.kind) {
    case 'colour-card':
      return writeColourCard(sheet, uris);
    case 'schedule':
      return writeScheduleSheet(sheet, uris);
    case 'compact-schedule':
      return writeCompactSchedule(sheet, uris);
  }
}

/** A PDF stores JPEG as it is; it would unpack other formats. */
function toUri(jpeg: Uint8Array): string {
  return `data:image/jpeg;base64,${Buffer.from(jpeg.buffer, jpeg.byteOffset, jpeg.byteLength).toString('base64')}`;
}

/** Points of a PDF (1/72 inch) in a millimetre. */
const POINTS_PER_MM = 72 / 25.4;
const TOOL = 'Dyeworks';

/**
 * Adds to the file what the browser omits or gets wrong: its size and trim box (ISO 32000-1 §14.11.2), the meaning of
 * its colours (§8.6.5.6, §14.11.5), and the day of the sheet, so that the same sheet always has the same bytes. A file
 * for press declares PDF/X-4 (ISO 15930-7); tests check the applicable parts of the standard.
 * @param id of the document, 32 hexadecimal digits
 */
async function markPdf(bytes: Uint8Array, sheet: Sheet, id: string): Promise<Uint8Array> {
  const document = await PDFDocument.load(bytes, { updateMetadata: false });
  const { context } = document;
  // PDF/X-4 requires 1.6.
  context.header = PDFHeader.forVersion(1, 6);
  const day = new Date(`${sheet.date}T00:00:00Z`);
  document.setCreationDate(day);
  document.setModificationDate(day);
  document.setProducer(TOOL);
  document.setCreator(TOOL);
  document.setLanguage('en');
  const info = context.lookup(context.trailerInfo.Info, PDFDict);
  info.set(PDFName.of('Trapped'), PDFName.of('False'));
  context.trailerInfo.ID = context.obj([PDFHexString.of(id), PDFHexString.of(id)]);
  const xmp = writeSheetXmp({
    title: document.getTitle() ?? sheet.title,
    date: sheet.date,
    tool: TOOL,
    id,
    press: sheet.press,
  });
  const metadata = context.stream(Buffer.from(xmp), { Type: 'Metadata', Subtype: 'XML' });
  document.catalog.set(PDFName.of('Metadata'), context.register(metadata));
  markBoxes(document, sheet);
  markColours(document);
  return document.save({ useObjectStreams: false });
}

/**
 * The browser rounds pages to whole pixels. They are therefore printed larger and cut to size from the top left corner.
 */
function markBoxes(document: PDFDocument, { paper, bleedMm }: Sheet): void {
  const toPoints = (mm: number) => Math.round(mm * POINTS_PER_MM * 1e4) / 1e4;
  const { widthMm, heightMm } = PAPERS[paper];
  const [width, height, bleed] = [widthMm + 2 * bleedMm, heightMm + 2 * bleedMm, bleedMm].map(toPoints);
  for (const page of document.getPages()) {
    const bottom = Math.round((page.getHeight() - height!) * 1e4) / 1e4;
    page.setMediaBox(0, bottom, width!, height!);
    page.setBleedBox(0, bottom, width!, height!);
    page.setTrimBox(bleed!, bottom + bleed!, toPoints(widthMm), toPoints(heightMm));
  }
}

/** Profiles as bytes, cached because making them takes some milliseconds. */
let packed: { readonly display: Buffer; readonly output: Buffer } | undefined;

/** Declares all colours as sRGB: drawings, pictures, and the intended output. */
function markColours(document: PDFDocument): void {
  const { context, catalog } = document;
  packed ??= { display: deflateSync(makeSrgbProfile('display')), output: deflateSync(makeSrgbProfile('output')) };
  const add = (profile: Uint8Array) =>
    context.register(context.stream(profile, { N: 3, Alternate: 'DeviceRGB', Filter: 'FlateDecode' }));
  const srgb = context.obj([PDFName.of('ICCBased'), add(packed.display)]);
  for (const page of document.getPages()) {
    page.node.Resources()!.set(PDFName.of('ColorSpace'), context.obj({ DefaultRGB: srgb }));
  }
  // The browser tags pictures with an sRGB profile of its own, of a newer version than PDF 1.6 supports.
  const replaced = new Set<PDFRef>();
  for (const [, object] of context.enumerateIndirectObjects()) {
    if (!(object instanceof PDFStream) || object.dict.get(PDFName.of('Subtype')) !== PDFName.of('Image')) continue;
    const space = object.dict.lookup(PDFName.of('ColorSpace'));
    const profile = space instanceof PDFArray ? space.get(1) : undefined;
    if (profile instanceof PDFRef) replaced.add(profile);
    if (profile || space === PDFName.of('DeviceRGB')) object.dict.set(PDFName.of('ColorSpace'), srgb);
  }
  for (const profile of replaced) context.delete(profile);
  const intent = context.obj({
    Type: 'OutputIntent',
    S: 'GTS_PDFX',
    OutputConditionIdentifier: PDFString.of('sRGB IEC61966-2.1'),
    OutputCondition: PDFString.of('sRGB'),
    Info: PDFString.of('sRGB, IEC 61966-2-1'),
    DestOutputProfile: add(packed.output),
  });
  catalog.set(PDFName.of('OutputIntents'), context.obj([context.register(intent)]));
}

interface SheetFacts {
  readonly title: string;
  /** `yyyy-mm-dd`. */
  readonly date: string;
  readonly tool: string;
  /** Of the document: 32 hexadecimal digits. */
  readonly id: string;
  readonly press: boolean;
}

/** Namespaces as XMP parts 1 and 2 (ISO 16684-1, Adobe 2016) and ISO 15930-7 name them. */
const NAMESPACES = {
  dc: 'http://purl.org/dc/elements/1.1/',
  xmp: 'http://ns.adobe.com/xap/1.0/',
  xmpMM: 'http://ns.adobe.com/xap/1.0/mm/',
  pdf: 'http://ns.adobe.com/pdf/1.3/',
  pdfxid: 'http://www.npes.org/pdfx/ns/id/',
} as const;

/** The file's metadata as an XMP packet; for press it names the standard. */
function writeSheetXmp({ title, date, tool, id, press }: SheetFacts): string {
  const day = `${date}T00:00:00Z`;
  const uuid = id.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, 'uuid:$1-$2-$3-$4-$5');
  const spaces = Object.entries(NAMESPACES).map(([prefix, uri]) => ` xmlns:${prefix}="${uri}"`);
  const facts = [
    ['xmp:CreateDate', day],
    ['xmp:ModifyDate', day],
    ['xmp:MetadataDate', day],
    ['xmp:CreatorTool', tool],
    ['pdf:Producer', tool],
    ['pdf:Trapped', 'False'],
    ['xmpMM:DocumentID', uuid],
    ['xmpMM:VersionID', '1'],
    ['xmpMM:RenditionClass', 'default'],
    ...(press ? [['pdfxid:GTS_PDFXVersion', 'PDF/X-4']] : []),
  ];
  return [
    // XMP uses the byte order mark to state the packet's encoding.
    '<?xpacket begin="\uFEFF" id="W5M0MpCehiHzreSzNTczkc9d"?>',
    '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">',
    `<rdf:Description rdf:about=""${spaces.join('')}>`,
    '<dc:format>application/pdf</dc:format>',
    `<dc:title><rdf:Alt><rdf:li xml:lang="x-default">${toXml(title)}</rdf:li></rdf:Alt></dc:title>`,
    ...facts.map(([name, value]) => `<${name}>${toXml(value!)}</${name}>`),
    '</rdf:Description></rdf:RDF></x:xmpmeta>',
    '<?xpacket end="r"?>',
  ].join('\n');
}
