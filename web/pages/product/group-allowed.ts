import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import type { SlotAnswer } from '../../../server/http/contracts/slot.ts';
import { formatKey } from '../../format.ts';

export interface AllowedFinish {
  readonly finish: FinishAnswer;
  /** SlotSetting beside the name when it is not simply on sale. */
  readonly status: string | null;
}

export interface AllowedGroup {
  readonly title: string;
  readonly items: readonly AllowedFinish[];
}

/** What a slot may take, by family and grade, in the order of the range. */
export function groupAllowed(
  allowed: SlotAnswer['allowed'],
  getFinish: (code: string) => FinishAnswer | null,
): AllowedGroup[] {
  const groups = new Map<string, AllowedFinish[]>();
  for (const { finish: code, grade, status } of allowed) {
    const finish = getFinish(code);
    if (!finish) continue;
    const title = `${formatKey(finish.family)}${grade === null ? '' : `, grade ${grade}`}`;
    const items = groups.get(title) ?? [];
    groups.set(title, items);
    items.push({ finish, status: status === 'current' ? null : formatKey(status).toLowerCase() });
  }
  return [...groups].map(([title, items]) => ({ title, items }));
}
