import { describe, expect, it } from 'vitest';
import { compareModels } from '../../../../server/core/product/compare-models.ts';
import { claimByOrigin, claimByPlaces, matchSlots, toClaims } from '../../../../server/core/product/match-slots.ts';
import { deriveSlots } from '../../../../server/core/product/slot.ts';
import type { Piece, Survey, SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import { finish, type Sliced } from '../../../../server/core/slices.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

const UNIT_BOX = { min: [0, 0, 0], max: [1, 1, 1] };

/** One mesh for each material. A letter stands for a piece with a shape of its own, unless `shape` says otherwise. */
function makeModel(
  materials: readonly { name: string; pieces: string; more?: Partial<SurveyedMaterial> }[],
  { scale = 1, shift = 0 } = {},
) {
  const base = makeSurvey(
    materials.map(({ name }) => name),
    materials.map((_, material) => [{ material }]),
    { widthMm: 1000 * scale, depthMm: 1000 * scale, heightMm: 1000 * scale },
  );
  const survey: Survey = {
    ...base,
    box: { min: UNIT_BOX.min, max: UNIT_BOX.max.map((value) => value * scale) },
    materials: base.materials.map((material, index) => ({ ...material, ...materials[index]!.more })),
  };
  const pieces = materials.flatMap(({ pieces }, material) =>
    [...pieces].map((letter): Piece => {
      const at = ((letter.toLowerCase().codePointAt(0)! - 97) / 26 + shift) * scale;
      return {
        // A capital has the same shape as the small letter, but its id has another place.
        piece: shift === 0 ? letter : `${letter}${shift}`,
        shape: letter.toLowerCase(),
        material,
        triangles: 12,
        areaM2: 1,
        box: { min: [at, at, at], max: [at, at, at] },
        primitives: [{ mesh: material, primitive: 0 }],
        nodes: [],
        part: null,
        hex: null,
      };
    }),
  );
  return { survey, pieces, bytes: 1000 };
}

describe('slots of the next model', () => {
  it('match by material name first, whatever their pieces', () => {
    const before = makeModel([
      { name: 'Seat', pieces: 'abc' },
      { name: 'Legs', pieces: 'def' },
    ]);
    const after = makeModel([
      { name: 'Legs', pieces: 'abc' },
      { name: 'Seat', pieces: 'def' },
    ]);
    const { matches, lost, added } = finish(matchSlots(deriveSlots(before.survey), before, after));
    expect(matches).toEqual([
      { slot: 'seat', material: 1, by: 'name' },
      { slot: 'legs', material: 0, by: 'name' },
    ]);
    expect([lost, added]).toEqual([[], []]);
  });

  it('match by their pieces if the name differs, in another unit too', () => {
    const before = makeModel([
      { name: 'Seat', pieces: 'abc' },
      { name: 'Legs', pieces: 'def' },
    ]);
    const after = makeModel(
      [
        { name: 'Material.001', pieces: 'def' },
        { name: 'Material.002', pieces: 'abcx' },
      ],
      { scale: 100 },
    );
    const { matches } = finish(matchSlots(deriveSlots(before.survey), before, after));
    expect(matches).toContainEqual({ slot: 'seat', material: 1, by: 'pieces' });
    expect(matches).toContainEqual({ slot: 'legs', material: 0, by: 'pieces' });
  });

  it('match by shape and place if ids changed, but not by a shape in another place', () => {
    const before = makeModel([{ name: 'Seat', pieces: 'abc' }]);
    const slots = deriveSlots(before.survey);
    const near = makeModel(
      [
        { name: 'other', pieces: 'abc', more: { areaM2: 9 } },
        { name: 'rest', pieces: 'y' },
      ],
      { shift: 0.02 },
    );
    expect(finish(matchSlots(slots, before, near)).matches).toEqual([{ slot: 'seat', material: 0, by: 'pieces' }]);
    const far = makeModel(
      [
        { name: 'other', pieces: 'abc', more: { areaM2: 9 } },
        { name: 'rest', pieces: 'y' },
      ],
      { shift: 0.4 },
    );
    const refused = finish(matchSlots(slots, before, far));
    expect(refused.matches).toEqual([]);
    expect(refused.lost).toEqual(['seat']);
  });

  it('match by area and UVs last, and only if nothing else looks alike', () => {
    const uv = (coverage: number) => ({
      coverage,
      overlap: 0,
      outside: 0,
      bounds: null,
      stretch: 1,
      sizes: null,
      pxPerMm: null,
    });
    const before = makeModel([
      { name: 'Seat', pieces: 'a', more: { areaM2: 2, uv: uv(0.8) } },
      { name: 'Legs', pieces: 'b', more: { areaM2: 1, uv: uv(0.2) } },
    ]);
    const slots = deriveSlots(before.survey);
    const after = makeModel([
      { name: 'm1', pieces: 'x', more: { areaM2: 1, uv: uv(0.2) } },
      { name: 'm2', pieces: 'y', more: { areaM2: 2.02, uv: uv(0.81) } },
    ]);
    expect(finish(matchSlots(slots, before, after)).matches).toEqual(
      expect.arrayContaining([
        { slot: 'seat', material: 1, by: 'uv-and-area' },
        { slot: 'legs', material: 0, by: 'uv-and-area' },
      ]),
    );
    const twins = makeModel([
      { name: 'm1', pieces: 'x', more: { areaM2: 1.5, uv: uv(0.5) } },
      { name: 'm2', pieces: 'y', more: { areaM2: 1.5, uv: uv(0.5) } },
    ]);
    expect(finish(matchSlots(slots, before, twins)).matches).toEqual([]);
  });

  it('keep their settings through claims, and lost slots stay without primitives', () => {
    const before = makeModel([
      { name: 'Seat', pieces: 'abc' },
      { name: 'Legs', pieces: 'def' },
    ]);
    const slots = deriveSlots(before.survey).map((slot) => ({ ...slot, label: `my ${slot.label}` }));
    const after = makeModel([
      { name: 'Material.002', pieces: 'abc' },
      { name: 'New', pieces: 'qrs', more: { areaM2: 7 } },
    ]);
    const next = deriveSlots(after.survey, slots, toClaims(finish(matchSlots(slots, before, after))));
    expect(next.map(({ slot, label, materials }) => ({ slot, label, materials }))).toEqual([
      { slot: 'seat', label: 'my Seat', materials: [0] },
      { slot: 'new', label: 'New', materials: [1] },
      { slot: 'legs', label: 'my Legs', materials: [] },
    ]);
    // They return with the model that has them.
    const again = deriveSlots(before.survey, next, claimByPlaces(slots));
    expect(again.slice(0, 2).map(({ slot, label, materials }) => ({ slot, label, materials }))).toEqual([
      { slot: 'seat', label: 'my Seat', materials: [0] },
      { slot: 'legs', label: 'my Legs', materials: [1] },
    ]);
  });
});

describe('slots after repairs', () => {
  const baked = makeModel([{ name: 'Baked', pieces: 'abcdef' }]);
  const split = makeModel([
    { name: 'seat', pieces: 'abc' },
    { name: 'legs', pieces: 'def' },
  ]);
  const origins = [0, 0];

  it('take a new name if nobody has used the first', () => {
    const known = deriveSlots(baked.survey);
    const slots = deriveSlots(split.survey, known, claimByOrigin(known, origins, split.survey));
    expect(slots.map(({ slot, label }) => [slot, label])).toEqual([
      ['seat', 'seat'],
      ['legs', 'legs'],
    ]);
  });

  it('keep their name if a schedule uses them', () => {
    const known = deriveSlots(baked.survey);
    const slots = deriveSlots(split.survey, known, claimByOrigin(known, origins, split.survey), new Set(['baked']));
    expect(slots.map(({ slot, materialName }) => [slot, materialName])).toEqual([
      ['baked', 'seat'],
      ['legs', 'legs'],
    ]);
  });

  it('keep the material of their own name if one was made', () => {
    const known = deriveSlots(baked.survey).map((slot) => ({ ...slot, fixed: true }));
    const kept = makeModel([
      { name: 'legs', pieces: 'def' },
      { name: 'Baked', pieces: 'abc' },
    ]);
    const slots = deriveSlots(kept.survey, known, claimByOrigin(known, origins, kept.survey));
    expect(slots.map(({ slot, fixed }) => [slot, fixed])).toEqual([
      ['legs', false],
      ['baked', true],
    ]);
  });
});

describe('the changes in another model', () => {
  it('are listed in figures and in sentences', () => {
    const before = makeModel([
      { name: 'Seat', pieces: 'abc', more: { metresPerUv: 1 } },
      { name: 'Legs', pieces: 'def' },
    ]);
    const after = makeModel(
      [
        { name: 'Seat', pieces: 'abx', more: { metresPerUv: 0.5, alphaMode: 'MASK' } },
        { name: 'Piping', pieces: 'z', more: { areaM2: 7 } },
      ],
      { scale: 1.1 },
    );
    const slots = deriveSlots(before.survey);
    const changes = finish(
      compareModels(slots, before, { ...after, bytes: 2_000_000 }, finish(matchSlots(slots, before, after))),
    );
    expect(changes.lost).toEqual(['legs']);
    expect(changes.added).toEqual(['Piping']);
    expect(changes.pieces).toEqual({ same: 2, added: 2, gone: 4 });
    expect(changes.density).toEqual([{ slot: 'seat', before: 1, after: 0.5 }]);
    expect(changes.materials).toEqual([{ slot: 'seat', changes: ['its alpha mode changed from OPAQUE to MASK'] }]);
    const text = changes.lines.join('\n');
    expect(text).toContain('Not found in the new model: Legs');
    expect(text).toContain('1,100 × 1,100 × 1,100 mm; was 1,000 × 1,000 × 1,000 mm');
    expect(text).toContain('2.0 MB; was 1.0 kB');
  });
});

describe('many pieces', () => {
  /** Steps of work, each with how many pieces it looked at. */
  function countLooks(work: Sliced<unknown>, looks: () => number): number[] {
    const steps: number[] = [];
    for (let last = 0; ; last = looks()) {
      const { done } = work.next();
      steps.push(looks() - last);
      if (done) return steps;
    }
  }

  it('are matched and compared in slices, and each is looked at a few times, however many materials there are', () => {
    const parts = 40;
    const each = 50;
    let looked = 0;
    const make = (model: string) => {
      const names = Array.from({ length: parts }, (_, part) => ({ name: `${model}${part}`, pieces: 'a'.repeat(each) }));
      const made = makeModel(names);
      const pieces = made.pieces.map(
        (piece, at): Piece => ({
          ...piece,
          piece: `${model}${at}`,
          shape: `s${at % parts}`,
          get box() {
            looked++;
            return piece.box;
          },
        }),
      );
      return { ...made, pieces };
    };
    const [before, after] = [make('old'), make('new')];
    const slots = deriveSlots(before.survey);
    const matching = countLooks(matchSlots(slots, before, after), () => looked);
    expect(matching.length).toBeGreaterThan(40);
    expect(Math.max(...matching)).toBeLessThanOrEqual(100);
    // once where a piece is indexed and once where it is looked for, in both models
    expect(looked).toBe(4 * parts * each);
    looked = 0;
    const comparing = countLooks(
      compareModels(slots, before, after, { matches: [], lost: [], added: [] }),
      () => looked,
    );
    expect(Math.max(...comparing)).toBeLessThanOrEqual(100);
    expect(looked).toBe(2 * parts * each);
  });
});
