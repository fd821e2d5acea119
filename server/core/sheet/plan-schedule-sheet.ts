import { flowBlocks, type Placed } from './flow-blocks.ts';
import { measureTypeArea, type SheetFormat } from './paper.ts';
import {
  describeHead,
  listVariants,
  type ScheduleHead,
  type ScheduleSource,
  type SheetVariant,
} from './schedule-source.ts';

export interface SheetRow extends SheetVariant {
  readonly heightMm: number;
}

export interface ScheduleSheet extends ScheduleHead {
  readonly kind: 'schedule';
  readonly pages: readonly (readonly Placed<SheetRow>[])[];
}

/** Sizes of a row and the head above the first one, in mm. */
export const SCHEDULE_MM = { picture: 32, row: 36, plainRow: 18, choice: 4.6, head: 26 } as const;

/** Lays out the finish schedule of a product: one row for each variant, its picture, and a finish for every slot. */
export function planScheduleSheet(source: ScheduleSource, format: SheetFormat): ScheduleSheet {
  const least = source.pictures ? SCHEDULE_MM.row : SCHEDULE_MM.plainRow;
  const rows = listVariants(source).map((variant): SheetRow => {
    const chosen = variant.choices.filter((choice) => choice !== null);
    return { ...variant, heightMm: Math.max(least, 5 + chosen.length * SCHEDULE_MM.choice) };
  });
  return {
    kind: 'schedule',
    ...describeHead(source, format),
    pages: flowBlocks(rows, measureTypeArea(format.paper).heightMm, SCHEDULE_MM.head),
  };
}
