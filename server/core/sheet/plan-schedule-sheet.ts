import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { choiceOf, type Variant } from '../schedule/schedule.ts';
import { flowBlocks, type Placed } from './flow-blocks.ts';
import { measureTypeArea, type SheetFormat } from './paper.ts';

/** A finish in one slot of a row. */
export interface SheetChoice {
  readonly slot: string;
  readonly finish: string;
  readonly name: string;
  readonly hex: string;
}

export interface SheetRow {
  readonly kind: 'row';
  readonly heightMm: number;
  readonly code: string;
  readonly name: string;
  /** Said of the variant the product is shown in first. */
  readonly isDefault: boolean;
  readonly choices: readonly SheetChoice[];
  /** Key of its picture among those handed over with the sheet; null where there is none. */
  readonly picture: string | null;
}

export interface ScheduleSheet extends SheetFormat {
  readonly kind: 'schedule';
  readonly title: string;
  /** `Finish schedule`, `Check set: every allowed pair once` … */
  readonly subtitle: string;
  /** Code of the product. */
  readonly product: string;
  readonly date: string;
  /** Overall size, already in words; null without a model. */
  readonly size: string | null;
  readonly rows: number;
  readonly pages: readonly (readonly Placed<SheetRow>[])[];
}

/** Sizes of a row and the head above the first one, in mm. */
export const SCHEDULE_MM = { picture: 32, row: 36, choice: 4.6, head: 26 } as const;

export interface ScheduleSource {
  readonly product: { readonly code: string; readonly name: string };
  readonly subtitle: string;
  readonly date: string;
  readonly size: string | null;
  readonly slots: readonly { readonly slot: string; readonly label: string }[];
  readonly variants: readonly Pick<Variant, 'code' | 'name' | 'choices'>[];
  readonly defaultCode: string | null;
  readonly resolve: (finish: string) => ResolvedFinish;
  /** Whether every row has a picture, which goes by the code of its variant. */
  readonly pictures: boolean;
}

/** Lays out the finish schedule of a product: one row for each variant, its picture, and a finish for every slot. */
export function planScheduleSheet(source: ScheduleSource, format: SheetFormat): ScheduleSheet {
  const { product, subtitle, date, size, slots, variants, defaultCode, resolve } = source;
  const rows = variants.map(({ code, name, choices }): SheetRow => {
    const chosen = slots.flatMap(({ slot, label }): SheetChoice[] => {
      const finish = choiceOf(choices, slot);
      if (finish === undefined) return [];
      const { name: finishName, hex } = resolve(finish);
      return [{ slot: label, finish, name: finishName, hex }];
    });
    return {
      kind: 'row',
      heightMm: Math.max(source.pictures ? SCHEDULE_MM.row : 18, 5 + chosen.length * SCHEDULE_MM.choice),
      code,
      name,
      isDefault: code === defaultCode,
      choices: chosen,
      picture: source.pictures ? code : null,
    };
  });
  return {
    kind: 'schedule',
    ...format,
    title: product.name,
    subtitle,
    product: product.code,
    date,
    size,
    rows: rows.length,
    pages: flowBlocks(rows, measureTypeArea(format.paper).heightMm, SCHEDULE_MM.head),
  };
}
