import { capitalise, count, formatNumber } from '../texts/format-text.ts';
import { type Finding, makeFinding, type Severity } from './finding.ts';
import type { Damage, DamageCode, Survey } from './survey.ts';

/** Places named in a finding; the rest are counted. */
const NAMED = 3;

/** Values of the file that cannot be right, one finding for each kind of place: what was found, and what is used instead. */
export function checkDamage({ damages }: Pick<Survey, 'damages'>): Finding[] {
  return [...groupAlike(damages).values()].map((group) => {
    const first = group[0]!;
    const severity = judgeDamage(first);
    return makeFinding(
      first.code,
      {
        where: first.where,
        place: sayPlaces(group),
        message: `${SAY[first.code](group)} ${severity === 'warning' ? LOOK : NEXT[first.code]}`,
        seen: group.length === 1 ? first.seen : group.length,
        expected: first.expected,
      },
      severity,
    );
  });
}

function groupAlike(damages: readonly Damage[]): Map<string, Damage[]> {
  const groups = new Map<string, Damage[]>();
  for (const damage of damages) {
    const { code, what, where, expected, used } = damage;
    const key = JSON.stringify([code, what.replace(/\d+/g, '0'), where.split('/')[1], expected, used === null]);
    const group = groups.get(key);
    if (group) group.push(damage);
    else groups.set(key, [damage]);
  }
  return groups;
}

const SAY: Readonly<Record<DamageCode, (group: readonly Damage[]) => string>> = {
  'damaged-value': sayValue,
  'dangling-reference': sayValue,
  'damaged-animation': (group) =>
    `${count(group.length, 'part')} of ${nameAnimations(group)} cannot be played, and ${group.length === 1 ? 'is' : 'are'} left out.`,
  'no-scene': ([first]) => `The file does not say what is to be shown. It is shown as viewers do: ${first!.used}.`,
  'undeclared-extension': (group) =>
    `The file uses ${group.map(({ used }) => used).join(', ')} without declaring it. It is declared in deliveries.`,
};

/** What to do about a value that finishes or pictures may depend on. */
const LOOK = 'Look at the picture; where it is not what was meant, correct the value and export the model again.';

/** What to do about all else, by code. */
const NEXT: Readonly<Record<DamageCode, string>> = {
  'damaged-value': 'Neither finishes nor pictures depend on it.',
  'dangling-reference': 'Neither finishes nor pictures depend on it.',
  'damaged-animation': 'Finishes and pictures do not need it; where a shop plays it, export it again.',
  'no-scene': 'Where that is too much or too little, export one scene with what belongs to the product.',
  'undeclared-extension': 'Viewers may have skipped it in the file as it came; tell the supplier.',
};

function sayValue(group: readonly Damage[]): string {
  const [{ what, place, seen, expected, used }] = group as [Damage];
  const value = what || 'value';
  if (group.length === 1) {
    return `${capitalise(place)}: ${value} is ${seen} where ${expected} belongs; ${used === null ? 'it is left out' : `${used} is used`}.`;
  }
  const fate = used === null ? 'they are left out' : 'the nearest value that may stand there is used';
  return `${formatNumber(group.length)} times ${value} is not ${expected} (first ${seen}, in ${place}); ${fate}.`;
}

function nameAnimations(group: readonly Damage[]): string {
  const places = new Set(group.map(({ place }) => place));
  return places.size === 1 ? [...places][0]! : count(places.size, 'animation');
}

function sayPlaces(group: readonly Damage[]): string {
  const places = [...new Set(group.map(({ place }) => place))];
  const rest = places.length - NAMED;
  const shown = places.slice(0, NAMED).join(', ');
  return rest > 0 ? `${shown} and ${formatNumber(rest)} more` : shown;
}

/** Arrays whose damage changes neither how the product looks nor where its parts stand. */
const ASIDE = new Set([
  'accessors',
  'animations',
  'asset',
  'bufferViews',
  'buffers',
  'cameras',
  'extensions',
  'scenes',
]);

function judgeDamage({ code, where, what }: Damage): Severity {
  const [, array = ''] = where.split('/');
  if (code === 'no-scene' || code === 'undeclared-extension' || code === 'damaged-animation') return 'note';
  return ASIDE.has(array) || what === 'name' || what === 'camera' || /\blights?\b/.test(what) ? 'note' : 'warning';
}
