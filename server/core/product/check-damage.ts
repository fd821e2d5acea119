import { PLACES } from '../texts/place-titles.ts';
import { type Finding, makeFinding, type Severity } from './finding.ts';
import type { Damage, Survey } from './survey.ts';

/** Places named in a finding; the rest are counted. */
const NAMED = 3;

/** Values of the file that cannot be right, one finding for each kind of place: what was found, and what is used instead. */
export function checkDamage({ damages }: Pick<Survey, 'damages'>): Finding[] {
  return [...groupAlike(damages).values()].map((group) => {
    const first = group[0]!;
    const severity = judgeDamage(first);
    const facts = {
      where: first.where,
      place: PLACES.several([...new Set(group.map(({ place }) => place))], NAMED),
      seen: group.length === 1 ? first.seen : group.length,
      expected: first.expected,
    };
    switch (first.code) {
      case 'damaged-animation':
        return makeFinding(first.code, { parts: group.length, animations: nameAnimations(group) }, facts, severity);
      case 'no-scene':
        return makeFinding(first.code, { shown: first.used ?? '' }, facts, severity);
      case 'undeclared-extension':
        return makeFinding(first.code, { names: group.map(({ used }) => used ?? '') }, facts, severity);
      default:
        return makeFinding(
          first.code,
          { ...first, values: group.length, isVisible: severity === 'warning' },
          facts,
          severity,
        );
    }
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

function nameAnimations(group: readonly Damage[]): string {
  const places = new Set(group.map(({ place }) => place));
  return places.size === 1 ? [...places][0]! : PLACES.animations(places.size);
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
