import { foldCode } from '../core/codes.ts';
import type { CheckSetKind } from '../core/combinations/plan-check-set.ts';
import { isSold, listRange } from '../core/line/line.ts';
import type { Sheet, SheetPictures } from '../core/ports/renderer.ts';
import type { StoredPicture } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { listUsedFinishes, type Variant } from '../core/schedule/schedule.ts';
import { type Block, measureTypeArea, type SheetFormat } from '../core/sheet/page.ts';
import {
  isMetal,
  isPatterned,
  LIT_PX,
  planCardPanel,
  planColourCard,
  toLitKey,
  toPanelKey,
} from '../core/sheet/plan-colour-card.ts';
import { planCompactSchedule, planScheduleSheet, type ScheduleForm } from '../core/sheet/plan-schedule.ts';
import { SHEET_TEXTS } from '../core/texts/answer-texts.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { digest, shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { getLine } from './edit-line.ts';
import { planCheckRows } from './edit-schedule.ts';
import { loadFinishes } from './load-finishes.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireSchedule } from './loaded-product.ts';
import { retryWhileBusy } from './retry-while-busy.ts';
import { type PictureRequest, takePicture } from './take-picture.ts';
import { type SwatchRequest, takeSwatch } from './take-swatch.ts';
import { asJob, getTurn, workFor } from './turns.ts';

/** Rows of a sheet with pictures: a hundred pages, and half an hour for a small machine at the first print. */
const MOST_PICTURED_ROWS = 600;
/** Pictures of patterned finishes and metals on a card: thirty pages, and some minutes for a small machine at the first print. */
const MOST_PANELS = 600;
/** Rows of a sheet without pictures: seven hundred pages. */
const MOST_ROWS = 10_000;

/** The look of the rows. */
export interface RowForm {
  readonly form: ScheduleForm;
  /** Whether each variant has a picture. */
  readonly pictures: boolean;
}

/** 32 mm at 300 pixels per inch, the resolution that printers ask for (common practice). */
const ROW_PICTURE: PictureRequest = {
  widthPx: 378,
  heightPx: 378,
  format: 'jpg',
  view: 'three-quarter',
  ground: 'white',
  many: true,
};

/**
 * The colour card of a line as PDF, with the finishes that it sells now.
 * @param panels true: patterned finishes as pieces at true scale, and metals lit; false: flat colours only
 * @throws Problem `unknown-line-code`, `nothing-to-print`, `sheet-too-long`, `renderer-…`
 */
export async function printColourCard(
  context: Context,
  code: string,
  format: SheetFormat,
  panels = true,
): Promise<StoredPicture> {
  const [line, finishes] = await Promise.all([getLine(context, code), loadFinishes(context)]);
  const range = listRange(line, finishes.byCode);
  const sold = range.filter(({ status }) => isSold(status)).map(({ finish }) => finishes.resolve(finish.finish));
  if (sold.length === 0) refuseEmpty(PICTURE_PROBLEMS['nothing-to-print'].noneSold(line.line));
  const pictured = panels ? sold.filter((finish) => isPatterned(finish) || isMetal(finish)) : [];
  if (pictured.length > MOST_PANELS) {
    throw new Problem('sheet-too-long', {
      detail: PICTURE_PROBLEMS['sheet-too-long'].card(pictured.length, MOST_PANELS),
      expected: SHEET_TEXTS.mostPanels(MOST_PANELS),
      received: pictured.length,
    });
  }
  const card = planColourCard(
    {
      line,
      range,
      resolve: finishes.resolve,
      articleOf: (finish) => {
        const article = finishes.byCode.get(foldCode(finish))?.article;
        return article === undefined ? null : (finishes.articles.get(foldCode(article)) ?? null);
      },
      date: today(context),
      panels,
    },
    format,
  );
  const { widthMm, sizePx } = planCardPanel(format);
  const take = (finish: string, request: Omit<SwatchRequest, 'format'>) =>
    retryWhileBusy(() => takeSwatch(context, finish, { ...request, format: 'jpg' }, finishes));
  const takePictures = async () => {
    const taken: Record<string, Uint8Array> = {};
    for (const resolved of pictured) {
      const { finish } = resolved;
      if (isPatterned(resolved)) {
        taken[toPanelKey(finish)] = (await take(finish, { kind: 'panel', sizePx, widthMm })).bytes;
      }
      if (isMetal(resolved)) taken[toLitKey(finish)] = (await take(finish, { kind: 'sphere', sizePx: LIT_PX })).bytes;
    }
    return taken;
  };
  return print(context, card, takePictures, pictured.length === 0 ? [] : [context.studioVersion, pictured]);
}

/**
 * The finish schedule of a product as PDF.
 * @throws Problem `unknown-product`, `no-schedule`, `no-model`, `sheet-too-long`, `renderer-…`
 */
export async function printSchedule(
  context: Context,
  code: string,
  format: SheetFormat,
  form: RowForm,
): Promise<StoredPicture> {
  const loaded = await loadProduct(context, code);
  const { variants, default: first } = requireSchedule(loaded);
  return printRows(context, loaded, variants, first, SHEET_TEXTS.schedule, format, form);
}

/**
 * A check set of a product as PDF, without adding it to the schedule.
 * @throws Problem `unknown-product`, `nothing-to-expand`, `too-many-variants`, `no-model`, `sheet-too-long`, `renderer-…`
 */
export async function printCheckSet(
  context: Context,
  code: string,
  kind: CheckSetKind,
  format: SheetFormat,
  form: RowForm,
  signal?: AbortSignal,
): Promise<StoredPicture> {
  const loaded = await loadProduct(context, code);
  const { added } = await planCheckRows(context, loaded, kind, null, signal);
  if (added.length === 0) refuseEmpty(PICTURE_PROBLEMS['nothing-to-print'].noCombination(loaded.product.code));
  return printRows(context, loaded, added, null, SHEET_TEXTS.checkSet[kind], format, form);
}

async function printRows(
  context: Context,
  loaded: LoadedProduct,
  variants: readonly Variant[],
  defaultCode: string | null,
  subtitle: string,
  format: SheetFormat,
  form: RowForm,
): Promise<StoredPicture> {
  const { pictures } = form;
  const most = pictures ? MOST_PICTURED_ROWS : MOST_ROWS;
  if (variants.length > most) {
    throw new Problem('sheet-too-long', {
      detail: PICTURE_PROBLEMS['sheet-too-long'][pictures ? 'picturedRows' : 'rows'](variants.length, most),
      expected: SHEET_TEXTS.mostRows(most),
      received: variants.length,
    });
  }
  const plan = form.form === 'compact' ? planCompactSchedule : planScheduleSheet;
  const sheet = plan(
    {
      product: loaded.product,
      subtitle,
      date: today(context),
      size: formatModelSize(loaded),
      slots: loaded.slots.filter(({ fixed }) => !fixed),
      variants,
      defaultCode,
      resolve: loaded.finishes.resolve,
      pictures,
    },
    format,
  );
  const highest = Math.max(...sheet.pages.flat().map((row: Block) => row.heightMm));
  if (highest > measureTypeArea(format.paper).heightMm) {
    throw new Problem('sheet-too-long', {
      detail: PICTURE_PROBLEMS['sheet-too-long'].highRow(loaded.product.code, Math.round(highest)),
    });
  }
  if (!pictures) return print(context, sheet, async () => ({}));
  const determines = [
    context.studioVersion,
    loaded.model?.sha256,
    loaded.product.mount,
    loaded.slots,
    listUsedFinishes({ variants }).map((finish) => loaded.finishes.resolve(finish)),
  ];
  const takePictures = async () => {
    const taken: Record<string, Uint8Array> = {};
    for (const { code, choices } of variants) {
      taken[code] = (await retryWhileBusy(() => takePicture(context, loaded, choices, ROW_PICTURE))).bytes;
    }
    return taken;
  };
  return print(context, sheet, takePictures, determines);
}

/** Prints a sheet, or finds its stored PDF. @param determines everything else that its pictures depend on */
async function print(
  context: Context,
  sheet: Sheet,
  takePictures: () => Promise<SheetPictures>,
  determines: readonly unknown[] = [],
): Promise<StoredPicture> {
  const key = digest(['sheet', context.version, sheet, determines]);
  const stored = await context.pictures.get(key);
  if (stored) return stored;
  return shareInFlight(key, async () => {
    // a sheet may have hundreds of pictures: each waits behind those that persons ask for one by one
    const turn = asJob(getTurn());
    const bytes = await context.renderer.printSheet(sheet, await workFor(turn, takePictures), turn);
    return context.pictures.put(key, bytes, 'application/pdf');
  });
}

function formatModelSize({ model }: LoadedProduct): string | null {
  const size = model?.survey.size;
  if (!size) return null;
  return `${[size.widthMm, size.depthMm, size.heightMm].map((mm) => Math.round(mm)).join(' × ')} mm`;
}

function refuseEmpty(detail: string): never {
  throw new Problem('nothing-to-print', { detail });
}

const today = ({ now }: Context) => now().toISOString().slice(0, 10);
