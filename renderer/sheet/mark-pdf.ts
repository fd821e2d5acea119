import { PDFDocument } from '@cantoo/pdf-lib';
import type { Sheet } from '../../server/core/sheet/sheet.ts';

/** Points of a PDF (1/72 inch) in a millimetre. */
const POINTS_PER_MM = 72 / 25.4;

/**
 * Says in the file what the browser leaves out or gets wrong: where it is trimmed (ISO 32000-1 §14.11.2), and whose day it
 * is, so that the same sheet has the same bytes whenever it is printed.
 */
export async function markPdf(bytes: Uint8Array, sheet: Sheet): Promise<Uint8Array> {
  const document = await PDFDocument.load(bytes, { updateMetadata: false });
  const day = new Date(`${sheet.date}T00:00:00Z`);
  document.setCreationDate(day);
  document.setModificationDate(day);
  document.setProducer('Dyeworks');
  document.setCreator('Dyeworks');
  document.setLanguage('en');
  const bleed = sheet.bleedMm * POINTS_PER_MM;
  for (const page of document.getPages()) {
    const { x, y, width, height } = page.getMediaBox();
    page.setBleedBox(x, y, width, height);
    page.setTrimBox(x + bleed, y + bleed, width - 2 * bleed, height - 2 * bleed);
  }
  return document.save({ useObjectStreams: false });
}
