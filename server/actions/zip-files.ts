import { stringify } from 'csv-stringify/sync';
import { foldCode } from '../core/codes.ts';
import { sayFamily } from '../core/finish/families.ts';
import { isGlossRead, listSpecified, SPECIFIED_COLUMNS } from '../core/finish/format-finish.ts';
import { toMm } from '../core/picture/picture-set.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import type { Context } from './context.ts';
import { listShownSlots } from './find-set-file.ts';
import { loadProduct } from './load-product.ts';
import { requireModel, requireSchedule } from './loaded-product.ts';
import { type NamedFile, type ProductSet, planProductSet, sortByView, takeNamed } from './product-set.ts';
import { retryWhileBusy } from './retry-while-busy.ts';
import { takePicture } from './take-picture.ts';
import { takeSwatch } from './take-swatch.ts';

/**
 * CSV as RFC 4180 has it, with a header row. A text that a spreadsheet would take for a formula (OWASP, CSV injection) gets
 * an apostrophe before it; figures stay figures.
 */
export function writeCsv(header: readonly string[], rows: readonly (readonly (string | number | null)[])[]): string {
  return stringify([[...header], ...rows.map((cells) => [...cells])], {
    record_delimiter: '\r\n',
    escape_formulas: true,
    // a line break of another kind than the records' is quoted as well
    quoted_match: /[\r\n]/,
    cast: { number: (value) => ({ value: String(value), escape_formulas: false }) },
  });
}

export interface CatalogueFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/**
 * What a catalogue needs of a product, file by file, pictures made as they are asked for: the schedule and the finishes in it
 * as CSV, a chip and a lit swatch of every finish, a picture of every variant.
 * @throws Problem `unknown-product`, `no-model`, `no-schedule` at once; `renderer-…` where a picture fails
 */
export async function listCatalogue(
  context: Context,
  code: string,
  sizePx: number,
): Promise<AsyncGenerator<CatalogueFile>> {
  const loaded = await loadProduct(context, code);
  requireModel(loaded);
  const { variants } = requireSchedule(loaded);
  const slots = loaded.slots.filter(({ fixed }) => !fixed).map(({ slot }) => slot);
  const anyGtin = variants.some(({ gtin }) => gtin !== undefined);
  const used = [...new Set(variants.flatMap(({ choices }) => Object.values(choices)))];
  const text = (name: string, csv: string) => ({ name, bytes: new TextEncoder().encode(csv) });

  return (async function* () {
    yield text(
      'schedule.csv',
      writeCsv(
        ['code', 'name', ...(anyGtin ? ['gtin'] : []), ...slots],
        variants.map(({ code, name, choices, gtin = null }) => [
          code,
          name,
          ...(anyGtin ? [gtin] : []),
          ...slots.map((slot) => choiceOf(choices, slot) ?? null),
        ]),
      ),
    );
    yield text(
      'finishes.csv',
      writeCsv(
        ['code', 'name', 'family', 'hex', 'l', 'a', 'b', 'deltaE', 'gu60', ...SPECIFIED_COLUMNS, 'gu60From'],
        used.map((finish) => {
          const { family, name } = loaded.finishes.byCode.get(foldCode(finish))!;
          const resolved = loaded.finishes.resolve(finish);
          const { hex, specification, specifiedLab, delivered, gu60 } = resolved;
          const lab = specifiedLab.map((value) => Number(value.toFixed(2)));
          const gloss = gu60 === null ? null : Math.round(gu60);
          const from = gu60 === null ? null : isGlossRead(resolved) ? 'reading' : 'computed';
          const deltaE = delivered && Number(delivered.deltaE.toFixed(2));
          const shown = delivered?.hex ?? hex;
          return [finish, name, sayFamily(family), shown, ...lab, deltaE, gloss, ...listSpecified(specification), from];
        }),
      ),
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

export interface SetFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** The list of what is in it. */
const LIST_NAME = 'files.csv';

/**
 * All files of a set, made as they are asked for, and a list of them at the end.
 * @throws Problem as `planProductSet` at once; `renderer-…` where a picture fails
 */
export async function listSetFiles(
  context: Context,
  product: string,
  code: string,
  variants?: readonly string[],
): Promise<AsyncGenerator<SetFile>> {
  const planned = await planProductSet(context, product, code, variants);
  return (async function* () {
    const digests = new Map<NamedFile, string>();
    for (const file of sortByView(planned.set, planned.files)) {
      const { bytes, sha256 } = await retryWhileBusy(() => takeNamed(context, planned, file));
      digests.set(file, sha256);
      yield { name: file.picture.fileName, bytes };
    }
    yield { name: LIST_NAME, bytes: new TextEncoder().encode(writeList(planned, digests)) };
  })();
}

function writeList({ loaded, files }: ProductSet, digests: ReadonlyMap<NamedFile, string>): string {
  const shown = listShownSlots(loaded);
  const header = ['name', 'product', 'variant', 'finishes', 'view', 'layer', 'widthPx', 'heightPx', 'ppi', 'widthMm'];
  return writeCsv(
    [...header, 'heightMm', 'bleedMm', 'sha256'],
    files.map((file) => {
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
    }),
  );
}
