import { createHash } from 'node:crypto';
import type { Browser } from 'puppeteer-core';
import type { Sheet, SheetPictures } from '../../server/core/sheet/sheet.ts';
import { markPdf } from './mark-pdf.ts';
import { writeColourCard } from './write-colour-card.ts';
import { embedFonts, LAYOUT_ZOOM } from './write-page.ts';
import { writeCompactSchedule, writeScheduleSheet } from './write-schedule.ts';

/**
 * Prints a sheet as PDF in a tab of its own. The document needs nothing from outside and may not ask for it. The same
 * sheet gives the same bytes on one machine and browser.
 */
export async function printSheet(browser: Browser, sheet: Sheet, pictures: SheetPictures): Promise<Uint8Array> {
  const html = writeSheet(sheet, pictures).replace('<style>', `<style>${await embedFonts()}`);
  const page = await browser.newPage();
  // who prints has a deadline that grows with the sheet
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

/** JPEG goes into the file as it is; other formats would be unpacked. */
function toUri(jpeg: Uint8Array): string {
  return `data:image/jpeg;base64,${Buffer.from(jpeg.buffer, jpeg.byteOffset, jpeg.byteLength).toString('base64')}`;
}
