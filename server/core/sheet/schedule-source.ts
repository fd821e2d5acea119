import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { choiceOf, type Variant } from '../schedule/schedule.ts';
import type { SheetFormat } from './paper.ts';

/** `detailed`: a row for each variant, with names. `compact`: a grid, with codes. */
export const SCHEDULE_FORMS = ['detailed', 'compact'] as const;
export type ScheduleForm = (typeof SCHEDULE_FORMS)[number];

/** What a schedule is printed from, in either form. */
export interface ScheduleSource {
  readonly product: { readonly code: string; readonly name: string };
  readonly subtitle: string;
  readonly date: string;
  readonly size: string | null;
  readonly slots: readonly { readonly slot: string; readonly label: string }[];
  readonly variants: readonly Pick<Variant, 'code' | 'name' | 'choices'>[];
  readonly defaultCode: string | null;
  readonly resolve: (finish: string) => ResolvedFinish;
  /** Whether every variant has a picture, which goes by its code. */
  readonly pictures: boolean;
}

/** What stands over a schedule. */
export interface ScheduleHead extends SheetFormat {
  readonly title: string;
  /** `Finish schedule`, `Check set: every allowed pair once` … */
  readonly subtitle: string;
  /** Code of the product. */
  readonly product: string;
  readonly date: string;
  /** Overall size, already in words; null without a model. */
  readonly size: string | null;
  /** How many variants there are. */
  readonly rows: number;
}

/** A finish in one slot of a variant. */
export interface SheetChoice {
  readonly slot: string;
  readonly finish: string;
  readonly name: string;
  readonly hex: string;
}

/** A variant as it stands on the sheet. */
export interface SheetVariant {
  readonly code: string;
  readonly name: string;
  /** SlotSetting of the variant the product is shown in first. */
  readonly isDefault: boolean;
  /** By slot, in their order; null where the variant has no finish. */
  readonly choices: readonly (SheetChoice | null)[];
  /** Key of its picture among those handed over with the sheet; null where there is none. */
  readonly picture: string | null;
}

export function describeHead(
  { product, subtitle, date, size, variants }: ScheduleSource,
  format: SheetFormat,
): ScheduleHead {
  return { ...format, title: product.name, subtitle, product: product.code, date, size, rows: variants.length };
}

export function listVariants({ slots, variants, defaultCode, resolve, pictures }: ScheduleSource): SheetVariant[] {
  return variants.map(({ code, name, choices }) => ({
    code,
    name,
    isDefault: code === defaultCode,
    choices: slots.map(({ slot, label }) => {
      const finish = choiceOf(choices, slot);
      if (finish === undefined) return null;
      const { name: finishName, hex } = resolve(finish);
      return { slot: label, finish, name: finishName, hex };
    }),
    picture: pictures ? code : null,
  }));
}
