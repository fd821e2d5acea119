import type { ColourSpecification } from '../../../server/core/finish/finish.ts';
import { formatColour } from '../../../server/core/finish/format-finish.ts';
import type { EventEntry } from '../../../server/core/history/history.ts';
import type { Difference } from '../../../server/core/history/list-differences.ts';
import type { FinishHistoryAnswer, FinishRevisionAnswer } from '../../../server/http/contracts/finish-history.ts';
import { finishesTexts } from '../../texts/finishes.ts';

const texts = finishesTexts.revisions;
const FIELD_NAMES: Readonly<Record<string, string>> = finishesTexts.fields;
const ARTICLE = 'article.';

export type HistoryRow =
  | { readonly kind: 'revision'; readonly revision: FinishRevisionAnswer }
  | { readonly kind: 'event'; readonly event: EventEntry };

/** Revisions and the events between them, the latest first. */
export function listRows({ revisions, events }: FinishHistoryAnswer): HistoryRow[] {
  return revisions.flatMap((revision) => [
    ...events
      .filter((event) => event.revision === revision.revision)
      .map((event): HistoryRow => ({ kind: 'event', event })),
    { kind: 'revision', revision },
  ]);
}

/** The origin of a revision; the first one of a finish is marked as new. */
export function describeOrigin({ how, starts }: FinishRevisionAnswer): string {
  return starts && how !== 'known' ? texts.newFinish(texts.ways[how]) : texts.ways[how];
}

export function describeEvent({ what, line, replacedBy }: EventEntry): string {
  return what === 'deleted' ? texts.deleted : texts.discontinued(line!, replacedBy);
}

/** `name: Tarn → Tarn blue`; `gloss at 60°: 35 (added)`; `note: removed, was …`. Stored files are not named. */
export function describeDifference({ field, ...sides }: Difference): string {
  const name = nameField(field);
  const [isAdded, isRemoved] = [!('before' in sides), !('after' in sides)];
  if (field === 'supplied' || isDigest(sides.before) || isDigest(sides.after)) {
    return texts.fileChanged(name, isAdded ? 'added' : isRemoved ? 'removed' : 'replaced');
  }
  const [before, after] = [formatValue(field, sides.before), formatValue(field, sides.after)];
  if (isAdded) return texts.added(name, after);
  return isRemoved ? texts.removed(name, before) : texts.changed(name, before, after);
}

function nameField(field: string): string {
  if (field.startsWith(ARTICLE)) return texts.ofArticle(nameField(field.slice(ARTICLE.length)));
  if (FIELD_NAMES[field]) return FIELD_NAMES[field];
  const [first, ...rest] = field.split('.').map((part) => FIELD_NAMES[part] ?? splitCamelCase(part));
  return [first!, ...rest].join(', ');
}

function splitCamelCase(key: string): string {
  return key.replace(/([a-z])([A-Z])/g, (_, a, b) => `${a} ${b.toLowerCase()}`);
}

function formatValue(field: string, value: unknown): string {
  if (value === undefined) return '';
  if (value === null) return texts.none;
  if (field === 'colour') return formatColour(value as ColourSpecification);
  if (isDigest(value)) return texts.file;
  if (Array.isArray(value)) {
    return value.length === 0 ? texts.none : value.map((each) => formatValue('', each)).join(', ');
  }
  if (typeof value === 'boolean') return value ? texts.yes : texts.no;
  if (typeof value === 'object') {
    return Object.entries(value)
      .map(([key, each]) => `${nameField(key)} ${formatValue('', each)}`)
      .join(', ');
  }
  return String(value);
}

function isDigest(value: unknown): boolean {
  return typeof value === 'string' && /^[0-9a-f]{64}$/.test(value);
}
