import { foldCode } from '../codes.ts';
import type { Finish, RangeStatus } from '../finish/finish.ts';
import type { Slot } from '../product/slot.ts';
import type { Line, Options, RangeEntry } from './line.ts';

export interface RangedFinish {
  readonly finish: Finish;
  readonly grade: string | null;
  readonly status: RangeStatus;
  /** As the range says. */
  readonly lastOrder?: string;
  readonly replacedBy?: string;
}

/**
 * What a line sells, in its order. A product without a line, or a line whose range is empty, may take any finish stored,
 * at the status the finish itself states.
 */
export function listRange(line: Line | null, finishes: ReadonlyMap<string, Finish>): RangedFinish[] {
  if (!line || line.range.length === 0) {
    return [...finishes.values()].map((finish) => ({ finish, grade: null, status: finish.status ?? 'current' }));
  }
  return line.range.flatMap((entry: RangeEntry) => {
    const finish = finishes.get(foldCode(entry.finish));
    if (!finish) return [];
    const { grade = null, status, lastOrder, replacedBy } = entry;
    return [{ finish, grade, status, ...(lastOrder && { lastOrder }), ...(replacedBy && { replacedBy }) }];
  });
}

/** Whether a finish of this status may be sold now. */
export function isSold(status: RangeStatus): boolean {
  return status === 'current' || status === 'phase-out';
}

/**
 * The finishes a slot may take: its position's options within the range, narrowed by the slot's own.
 * A fixed slot takes none.
 */
export function listOptions(
  slot: Pick<Slot, 'position' | 'options' | 'fixed'>,
  line: Line | null,
  range: readonly RangedFinish[],
): RangedFinish[] {
  if (slot.fixed) return [];
  const position = line?.positions.find((candidate) => candidate.position === slot.position);
  return range.filter((item) => admits(position?.options, item) && admits(slot.options, item));
}

function admits(options: Options | undefined | null, { finish, grade }: RangedFinish): boolean {
  if (!options || Object.values(options).every((list) => list === undefined)) return true;
  return (
    (options.finishes?.some((code) => foldCode(code) === foldCode(finish.finish)) ?? false) ||
    (options.families?.includes(finish.family) ?? false) ||
    (options.tags?.some((tag) => finish.tags?.includes(tag)) ?? false) ||
    (grade !== null && (options.grades?.includes(grade) ?? false))
  );
}
