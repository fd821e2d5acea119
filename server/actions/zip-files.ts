import { stringify } from 'csv-stringify/sync';
import { foldCode } from '../core/codes.ts';
import { formatFamily } from '../core/finish/families.ts';
import { isGlossRead, listSpecified, SPECIFIED_COLUMNS } from '../core/finish/format-finish.ts';
import { toMm } from '../core/picture/picture-set.ts';
import { choiceOf, listUsedFinishes } from '../core/schedule/schedule.ts';
import type { Sliced } from '../core/slices.ts';
import type { Context } from './context.ts';
import { listShownSlots } from './find-set-file.ts';
import { inTurns } from './in-turns.ts';
import { loadProduct } from './load-product.ts';
import { requireModel, requireSchedule } from './loaded-product.ts';
import { type NamedFile, type ProductSet, planProductSet, sortByView, takeNamed } from './product-set.ts';
import { retryWhileBusy } from './retry-while-busy.ts';
import { takePicture } from './take-picture.ts';
import { takeSwatch } from './take-swatch.ts';

// The files of the two zips that people download: the catalogue of a product, and a picture set.

/**
 * CSV by RFC 4180, with a header row. A text that a spreadsheet would read as a formula (OWASP, CSV injection) gets an
 * apostrophe in front; numbers stay as they are.
 */
export function writeCsv(header: readonly string[], rows: readonly Row[]): string {
  return writeRows([header, ...rows]);
}

type Row = readonly (string | number | null)[];

function writeRows(rows: readonly Row[]): string {
  return stringify(
    rows.map((cells) => [...cells]),
    {
      record_delimiter: '\r\n',
      escape_formulas: true,
      // quotes line breaks that differ from those between records as well
      quoted_match: /[\r\n]/,
      cast: { number: (value) => ({ value: String(value), escape_formulas: false }) },
    },
  );
}

/** A file of a zip. */
interface NamedBytes {
  /** Path in the zip, with `/`. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Rows that are written in one go, some milliseconds. */
const ROWS_AT_ONCE = 200;
/** To resolve a finish takes up to a millisecond. */
const FINISHES_AT_ONCE = 20;

/** The same as `writeCsv` in slices: twenty thousand rows in one go would hold up all other calls for a tenth of a second. */
export function* writeCsvSliced<Item>(
  header: readonly string[],
  items: readonly Item[],
  describe: (item: Item) => Row,
  atOnce = ROWS_AT_ONCE,
): Sliced<string> {
  let text = writeRows([header]);
  for (let from = 0; from < items.length; from += atOnce) {
    text += writeRows(items.slice(from, from + atOnce).map(describe));
    yield;
  }
  return text;
}

async function toCsvFile<Item>(name: string, ...table: Parameters<typeof writeCsvSliced<Item>>): Promise<NamedBytes> {
  return { name, bytes: new TextEncoder().encode(await inTurns(writeCsvSliced(...table))) };
}

/**
 * Lists the files of a catalogue: the schedule and its finishes as CSV, a chip and a lit swatch of every finish, and a picture
 * of every variant. Each picture is made when its turn comes.
 * @throws Problem `unknown-product`, `no-model`, `no-schedule` at once; `renderer-…` if a picture fails
 */
export async function listCatalogue(
  context: Context,
  code: string,
  sizePx: number,
): Promise<AsyncGenerator<NamedBytes>> {
  const loaded = await loadProduct(context, code);
  requireModel(loaded);
  const { variants } = requireSchedule(loaded);
  const slots = loaded.slots.filter(({ fixed }) => !fixed).map(({ slot }) => slot);
  const anyGtin = variants.some(({ gtin }) => gtin !== undefined);
  const used = listUsedFinishes({ variants });

  return (async function* () {
    yield await toCsvFile(
      'schedule.csv',
      ['code', 'name', ...(anyGtin ? ['gtin'] : []), ...slots],
      variants,
      ({ code, name, choices, gtin = null }) => [
        code,
        name,
        ...(anyGtin ? [gtin] : []),
        ...slots.map((slot) => choiceOf(choices, slot) ?? null),
      ],
    );
    yield await toCsvFile(
      'finishes.csv',
      ['code', 'name', 'family', 'hex', 'l', 'a', 'b', 'deltaE', 'gu60', ...SPECIFIED_COLUMNS, 'gu60From'],
      used,
      (finish) => {
        const { family, name } = loaded.finishes.byCode.get(foldCode(finish))!;
        const resolved = loaded.finishes.resolve(finish);
        const { hex, specification, specifiedLab, delivered, gu60 } = resolved;
        const lab = specifiedLab.map((value) => Number(value.toFixed(2)));
        const gloss = gu60 === null ? null : Math.round(gu60);
        const from = gu60 === null ? null : isGlossRead(resolved) ? 'reading' : 'computed';
        const deltaE = delivered && Number(delivered.deltaE.toFixed(2));
        const shown = delivered?.hex ?? hex;
        return [
          finish,
          name,
          formatFamily(family),
          shown,
          ...lab,
          deltaE,
          gloss,
          ...listSpecified(specification),
          from,
        ];
      },
      FINISHES_AT_ONCE,
    );
    for (const finish of used) {
      for (const kind of ['chip', 'sphere'] as const) {
        const { bytes } = await retryWhileBusy(() =>
          takeSwatch(context, finish, { kind, sizePx: 512, format: 'png' }, loaded.finishes),
        );
        yield { name: `swatches/${kind}_${finish}.png`, bytes };
      }
    }
    for (const { code, choices } of variants) {
      const request = { widthPx: sizePx, heightPx: sizePx, view: 'three-quarter', ground: 'transparent' } as const;
      const { bytes } = await retryWhileBusy(() =>
        takePicture(context, loaded, choices, { ...request, format: 'png', many: true }),
      );
      yield { name: `pictures/${loaded.product.code}_${code}.png`, bytes };
    }
  })();
}

/**
 * Lists the files of a picture set, and a list of them as CSV at the end. Each file is made when its turn comes.
 * @throws Problem as `planProductSet` at once; `renderer-…` if a picture fails
 */
export async function listSetFiles(
  context: Context,
  product: string,
  code: string,
  variants?: readonly string[],
): Promise<AsyncGenerator<NamedBytes>> {
  const planned = await planProductSet(context, product, code, variants);
  return (async function* () {
    const digests = new Map<NamedFile, string>();
    for (const file of sortByView(planned.set, planned.files)) {
      const { bytes, sha256 } = await retryWhileBusy(() => takeNamed(context, planned, file));
      digests.set(file, sha256);
      yield { name: file.picture.fileName, bytes };
    }
    yield await listContents(planned, digests);
  })();
}

/** The list of the files in the zip of a set. */
function listContents({ loaded, files }: ProductSet, digests: ReadonlyMap<NamedFile, string>): Promise<NamedBytes> {
  const shown = listShownSlots(loaded);
  const header = ['name', 'product', 'variant', 'finishes', 'view', 'layer', 'widthPx', 'heightPx', 'ppi', 'widthMm'];
  return toCsvFile('files.csv', [...header, 'heightMm', 'bleedMm', 'sha256'], files, (file) => {
    const { fileName, variant, of, view, layer, widthPx, heightPx, bleedPx, ppi } = file.picture;
    const finishes =
      'finish' in of
        ? [of.finish]
        : shown.flatMap(({ slot }) => {
            const finish = choiceOf(of.choices, slot);
            return finish === undefined ? [] : [`${slot}:${finish}`];
          });
    const mm = (px: number) => (ppi === null ? null : toMm(px, ppi));
    const sizes = [widthPx, heightPx, ppi, mm(widthPx), mm(heightPx), mm(bleedPx)];
    const what = [fileName, loaded.product.code, variant, finishes.join(' '), view, layer];
    return [...what, ...sizes, digests.get(file)!];
  });
}
