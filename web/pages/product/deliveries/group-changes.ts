import type { ChangesAnswer } from '../../../../server/http/contracts/delivery.ts';
import { productTexts } from '../../../texts/product.ts';

type Change = ChangesAnswer['changes'][number];

/** A sentence of the list of changes; a long list of one kind is folded behind a sentence that counts it. */
export interface ChangeEntry {
  readonly message: string;
  /** Whether shops must change their settings. */
  readonly breaking: boolean;
  /** The single sentences; empty for a change that stands alone. */
  readonly folded: readonly string[];
}

/** As many changes of one kind stand in the list themselves. */
const UNFOLDED = 3;

/** The changes of a delivery as a person reads them: first those that break a shop. */
export function groupChanges(changes: readonly Change[]): ChangeEntry[] {
  const kinds = new Map<Change['kind'], Change[]>();
  for (const change of changes) kinds.set(change.kind, [...(kinds.get(change.kind) ?? []), change]);
  const entries = [...kinds].flatMap(([kind, all]): ChangeEntry[] => {
    const describe = (productTexts.deliveries.grouped as Readonly<Record<string, (variants: number) => string>>)[kind];
    if (!describe || all.length <= UNFOLDED) {
      return all.map(({ message, breaking = false }) => ({ message, breaking, folded: [] }));
    }
    const variants = all.reduce((sum, change) => sum + change.variants, 0);
    const breaking = all.some((change) => change.breaking);
    return [{ message: describe(variants), breaking, folded: all.map(({ message }) => message) }];
  });
  return entries.toSorted((a, b) => Number(b.breaking) - Number(a.breaking));
}
