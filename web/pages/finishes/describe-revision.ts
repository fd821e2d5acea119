import type { ColourSpecification } from '../../../server/core/finish/finish.ts';
import { sayColour } from '../../../server/core/finish/say-colour.ts';
import type { EventEntry, Way } from '../../../server/core/history/history.ts';
import type { Difference } from '../../../server/core/history/list-differences.ts';
import type { FinishHistoryAnswer, FinishRevisionAnswer } from '../../../server/http/contracts/finish-history.ts';
import { shortDigest } from '../../format.ts';

export type HistoryRow =
  | { readonly kind: 'revision'; readonly revision: FinishRevisionAnswer }
  | { readonly kind: 'event'; readonly event: EventEntry };

/** Revisions with what befell the finish between them, the latest first. */
export function listRows({ revisions, events }: FinishHistoryAnswer): HistoryRow[] {
  return revisions.flatMap((revision) => [
    ...events
      .filter((event) => event.revision === revision.revision)
      .map((event): HistoryRow => ({ kind: 'event', event })),
    { kind: 'revision', revision },
  ]);
}

const WAY_WORDS: Readonly<Record<Way, string>> = {
  known: 'As it stood when histories began',
  saved: 'Written here',
  imported: 'Imported from a file',
  'taken-in': 'Taken in with a model',
  'article-changed': 'Its article changed',
};

/** How a revision came about; for the first of a finish that it is the first. */
export function describeWay({ how, starts }: FinishRevisionAnswer): string {
  return starts && how !== 'known' ? `${WAY_WORDS[how]}, new under this code` : WAY_WORDS[how];
}

export function describeEvent({ what, line, replacedBy }: EventEntry): string {
  if (what === 'deleted') return 'Removed from the card. What comes after it is another finish under the same code.';
  return `Line ${line} sells it no more${replacedBy ? `; ${replacedBy} takes its place` : ''}.`;
}

const FIELD_WORDS: Readonly<Record<string, string>> = {
  'gloss.gu20': 'gloss at 20°',
  'gloss.gu60': 'gloss at 60°',
  'gloss.gu85': 'gloss at 85°',
  'display.hex': 'colour for screens',
  supplied: 'supplied material',
};

/** `name: Tarn, now Tarn blue`; `gloss at 60°: 35, newly said`; `note: taken out, was …`. */
export function describeDifference({ field, ...sides }: Difference): string {
  const name = nameField(field);
  const [was, is] = [sayValue(field, sides.before), sayValue(field, sides.after)];
  if (!('before' in sides)) return `${name}: ${is}, newly said`;
  if (!('after' in sides)) return `${name}: no longer said, was ${was}`;
  return `${name}: ${was}, now ${is}`;
}

function nameField(field: string): string {
  if (field.startsWith('article.')) return `${nameField(field.slice('article.'.length))} of the article`;
  const [first, ...rest] = field.split('.');
  const words = (text: string) => text.replace(/([a-z])([A-Z])/g, (_, a, b) => `${a} ${b.toLowerCase()}`);
  return FIELD_WORDS[field] ?? [words(first!), ...rest.map(words)].join(', ');
}

function sayValue(field: string, value: unknown): string {
  if (value === undefined) return '';
  if (value === null) return 'none';
  if (field === 'colour') return sayColour(value as ColourSpecification);
  if (field === 'supplied') return shortDigest((value as { file: string }).file);
  if (Array.isArray(value)) return value.length === 0 ? 'none' : value.map((each) => sayValue('', each)).join(', ');
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'object') {
    return Object.entries(value)
      .map(([key, each]) => `${nameField(key)} ${sayValue('', each)}`)
      .join(', ');
  }
  const text = String(value);
  return /^[0-9a-f]{64}$/.test(text) ? shortDigest(text) : text;
}
