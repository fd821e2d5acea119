import { foldCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import { Problem } from '../problems.ts';
import { FINISH_PROBLEMS } from '../texts/problems/finish.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import type { Place, Position, Rule } from './line.ts';

/** A rule as it is handed in: its shape is checked, what it says is not. */
export interface GivenRule {
  readonly when: Place;
  readonly excludes?: Place;
  readonly requires?: Place;
  readonly sameAs?: { readonly position: string };
  readonly companion?: { readonly position: string };
}

const KINDS = ['excludes', 'requires', 'sameAs', 'companion'] as const;
const WAYS = ['finish', 'family', 'tag', 'grade'] as const;

/**
 * Makes rules of what is handed in; finish codes are written as they are stored.
 * @param finishes by folded code
 * @param where JSON pointer to the list
 * @throws Problem `invalid-rule`, `unknown-position`, `unknown-finish`
 */
export function readRules(
  given: readonly GivenRule[],
  positions: readonly Position[],
  finishes: ReadonlyMap<string, Pick<Finish, 'finish'>>,
  where = '/rules',
): Rule[] {
  return given.map((rule, i) => readRule(rule, positions, finishes, `${where}/${i}`));
}

function readRule(
  given: GivenRule,
  positions: readonly Position[],
  finishes: ReadonlyMap<string, Pick<Finish, 'finish'>>,
  where: string,
): Rule {
  const kinds = KINDS.filter((kind) => given[kind] !== undefined);
  const [kind] = kinds;
  if (kind === undefined || kinds.length > 1) {
    throw new Problem('invalid-rule', {
      detail: PRODUCT_PROBLEMS['invalid-rule'].oneKind(kinds),
      expected: KINDS,
      received: kinds,
      where,
    });
  }
  const readPlace = (place: Place, at: string): Place => {
    needPosition(place.position, positions, `${at}/position`);
    const ways = WAYS.filter((way) => place[way] !== undefined);
    if (ways.length > 1) {
      throw new Problem('invalid-rule', {
        detail: PRODUCT_PROBLEMS['invalid-rule'].oneWay(ways),
        expected: WAYS,
        received: ways,
        where: at,
      });
    }
    if (place.finish === undefined) return place;
    const finish = finishes.get(foldCode(place.finish));
    if (finish) return { ...place, finish: finish.finish };
    throw new Problem('unknown-finish', {
      detail: FINISH_PROBLEMS['unknown-finish'].byCode(place.finish),
      received: place.finish,
      where: `${at}/finish`,
    });
  };
  const when = readPlace(given.when, `${where}/when`);
  const target: Place = readPlace(given[kind]!, `${where}/${kind}`);
  if (when.position === target.position) {
    throw new Problem('invalid-rule', {
      detail: PRODUCT_PROBLEMS['invalid-rule'].samePosition(when.position),
      expected: positions.map(({ position }) => position).filter((position) => position !== when.position),
      received: when.position,
      where: `${where}/${kind}/position`,
    });
  }
  if (kind === 'sameAs') return { when, sameAs: { position: target.position } };
  if (kind === 'companion') return { when, companion: { position: target.position } };
  if (WAYS.every((way) => target[way] === undefined)) {
    throw new Problem('invalid-rule', {
      detail: PRODUCT_PROBLEMS['invalid-rule'].noFinishes(kind),
      expected: WAYS,
      received: target,
      where: `${where}/${kind}`,
    });
  }
  return kind === 'excludes' ? { when, excludes: target } : { when, requires: target };
}

function needPosition(position: string, positions: readonly Position[], where: string): void {
  if (positions.some((known) => known.position === position)) return;
  const known = positions.map((each) => each.position);
  throw new Problem('unknown-position', {
    detail: PRODUCT_PROBLEMS['unknown-position'].inRule(position, known),
    expected: known,
    received: position,
    where,
  });
}
