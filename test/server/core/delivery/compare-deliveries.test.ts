import { differenceCiede2000, parse } from 'culori';
import { describe, expect, it } from 'vitest';
import { hexToLab } from '../../../../server/core/colour/lab.ts';
import {
  type Background,
  compareDeliveries,
  type Holding,
  isSameHolding,
} from '../../../../server/core/delivery/compare-deliveries.ts';
import type { Article, Finish } from '../../../../server/core/finish/finish.ts';
import { resolveFinish, toLook } from '../../../../server/core/finish/resolve-finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import { finish } from '../../../../server/core/slices.ts';
import { listTexts } from '../../../support/list-texts.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { listRetiredWords } from '../../../support/retired-words.ts';

// Two deliveries of a seat: what differs is told in sentences, the same change in many variants once. Expected values are worked
// by hand; colour differences are those of culori 4.0.2.

const SHA = (letter: string) => letter.repeat(64);
const tarn = makeFinish('TARN', { name: 'Tarn blue', family: 'powder-coat', colour: { hex: '#2f5d73' } });
const oak = makeFinish('OAK', { name: 'Oiled oak', family: 'wood', colour: { hex: '#b08a5b' } });

function deliver(finish: Finish, revision = 1, article: Article | null = null): Holding['finishes'][number] {
  const { name, hex, outOfGamutDeltaE, specification, colourFrom, delivered, levelled, maps } = resolveFinish(
    finish,
    article,
  );
  return {
    finish: finish.finish,
    name,
    revision,
    specified: specification,
    hex,
    outOfGamutDeltaE,
    colourFrom,
    delivered,
    levelled,
    maps,
  };
}

/** Eighty variants with a seat in one of two finishes, half of them in each. */
const eighty = Array.from({ length: 80 }, (_, i) => ({
  code: `V${i + 1}`,
  name: `Variant ${i + 1}`,
  choices: { seat: i < 40 ? 'TARN' : 'OAK', legs: 'TARN' },
}));

const base: Holding = {
  model: { revision: 1, sha256: SHA('a'), bytes: 4_100_000 },
  names: 'name',
  default: 'V1',
  variants: eighty,
  finishes: [deliver(tarn), deliver(oak)],
  slots: [{ slot: 'seat', materialName: 'Seat', fixed: false, keep: KEEP_ALL, grainDegrees: 0 }],
};
const background: Background = { finishes: new Map(), size: null, labels: new Map([['seat', 'Seat shell']]) };
const compare = (after: Partial<Holding>, more: Partial<Background> = {}, before: Partial<Holding> = {}) =>
  finish(compareDeliveries({ ...base, ...before }, { ...base, ...after }, { ...background, ...more }));
const tell = (...given: Parameters<typeof compare>) => {
  const { changes, variants } = compare(...given);
  return [variants, ...changes.map(({ kind, message }) => `${kind}: ${message}`)];
};

/** A finish that was saved in between. */
function revise(was: Finish, is: Finish, articles: [Article | null, Article | null] = [null, null]) {
  const define = (finish: Finish, article: Article | null) => ({
    finish,
    article,
    look: toLook(resolveFinish(finish, article)),
  });
  const defined = { was: define(was, articles[0]), is: define(is, articles[1]) };
  const after = { finishes: [deliver(is, 2, articles[1]), deliver(oak)] };
  const before = { finishes: [deliver(was, 1, articles[0]), deliver(oak)] };
  const known = { ...background, finishes: new Map([['tarn', defined]]) };
  return finish(compareDeliveries({ ...base, ...before }, { ...base, ...after }, known));
}

describe('the same delivery', () => {
  it('has no changes, whatever the order of fields', () => {
    const turned = eighty.map(({ code, name, choices: { seat, legs } }) => ({ choices: { legs, seat }, name, code }));
    expect(compare({ variants: turned })).toEqual({ changes: [], variants: 0 });
    expect(finish(isSameHolding(base, { ...base, variants: turned }))).toBe(true);
  });

  it('does not differ by the number of a revision with the same bytes', () => {
    expect(compare({ model: { ...base.model!, revision: 4 } }).changes).toEqual([]);
  });
});

describe('a finish', () => {
  it('that is re-coloured in eighty variants is one change, with ΔE00', () => {
    const is = { ...tarn, colour: { hex: '#2f7350' } };
    const { changes, variants } = revise(tarn, is);
    const culori = differenceCiede2000()(parse('#2f5d73'), parse('#2f7350'));
    expect(changes).toHaveLength(1);
    expect(changes[0]).toMatchObject({ kind: 'finish-recoloured', finish: 'TARN', variants: 80 });
    expect(changes[0]!.deltaE).toBeCloseTo(culori, 2);
    expect(changes[0]!.message).toBe(
      `“Tarn blue” has another colour in 80 variants: ΔE00 ${culori.toFixed(2)} from the earlier one.`,
    );
    expect(variants).toBe(80);
  });

  it('in another form of the same colour says so', () => {
    const [l, a, b] = hexToLab('#2f5d73');
    const { changes } = revise(tarn, { ...tarn, colour: { lab: [l, a, b], illuminant: 'D65', observer: '2deg' } });
    expect(changes.map(({ kind, deltaE }) => [kind, deltaE])).toEqual([['finish-recoloured', 0]]);
    expect(changes[0]!.message).toMatch(/specified in another way and delivered as before, in 80 variants/);
  });

  const cases: [string, Finish, Finish, string[]][] = [
    ['gloss', { ...tarn, roughness: 0.45 }, { ...tarn, roughness: 0.3 }, ['finish-gloss']],
    ['maps', { ...tarn, maps: { normal: SHA('1') } }, { ...tarn, maps: { normal: SHA('2') } }, ['finish-maps']],
    [
      'repeat',
      { ...tarn, maps: { normal: SHA('1') }, tile: { widthMm: 100, heightMm: 100 } },
      { ...tarn, maps: { normal: SHA('1') }, tile: { widthMm: 200, heightMm: 100 } },
      ['finish-repeat'],
    ],
    ['name', tarn, { ...tarn, name: 'Tarn green' }, ['finish-renamed']],
    ['surface', tarn, { ...tarn, clearcoat: 1, transmission: 0.5 }, ['finish-gloss', 'finish-surface']],
    ['what deliveries do not hold', tarn, { ...tarn, tags: ['dark'], supplier: 'Wexmill' }, []],
    [
      'colour, from which its sheen follows',
      { ...tarn, family: 'textile' },
      { ...tarn, family: 'textile', colour: { hex: '#604030' } },
      ['finish-recoloured'],
    ],
  ];
  it.each(cases)('with another %s', (_, was, is, kinds) => {
    expect(revise(was, is).changes.map(({ kind }) => kind)).toEqual(kinds);
  });

  it('says its gloss in figures', () => {
    expect(revise({ ...tarn, roughness: 0.45 }, { ...tarn, roughness: 0.3 }).changes[0]!.message).toBe(
      '“Tarn blue” has another gloss in 80 variants: roughness 0.30, was 0.45.',
    );
  });

  it('follows its article, but not the name of its article', () => {
    const worn = { ...tarn, article: 'LACQUER' };
    const article: Article = { article: 'LACQUER', name: 'Lacquer', family: 'powder-coat', roughness: 0.4 };
    expect(revise(worn, worn, [article, { ...article, name: 'Coach lacquer' }]).changes).toEqual([]);
    expect(revise(worn, worn, [article, { ...article, roughness: 0.6 }]).changes.map(({ kind }) => kind)).toEqual([
      'finish-gloss',
    ]);
  });

  it('with a map that could be measured only later differs, at the same revision', () => {
    const maps = { colour: SHA('c') };
    const unmeasured = { ...deliver(tarn), maps, delivered: null };
    const measured = { ...unmeasured, delivered: { ...deliver(tarn).delivered!, deltaE: 1 } };
    const differs = (was: object, is: object) =>
      compare({ finishes: [is as never, deliver(oak)] }, {}, { finishes: [was as never, deliver(oak)] }).changes.length;
    expect(differs(unmeasured, measured)).toBe(1);
    expect(differs(measured, measured)).toBe(0);
    // deliveries older than levelled maps do not have the figure
    const { delivered: _, ...older } = measured;
    expect(differs(older, measured)).toBe(0);
  });

  it('whose reference changes how its gloss is read differs, although no delivery contains a reference', () => {
    const gloss = { gloss: { gu60: 30 } };
    const plain = makeFinish('TARN', { name: 'Tarn blue', family: 'paint', colour: { hex: '#2f5d73' }, ...gloss });
    const fine = { ...plain, reference: { system: 'House', code: '1', texture: 'fine texture' } };
    const roughnessOf = (finish: Finish) => resolveFinish(finish, null).roughness;
    expect(roughnessOf(fine)).not.toBe(roughnessOf(plain));
    expect(revise(plain, fine).changes).not.toEqual([]);
  });

  it('from before histories counts as changed', () => {
    expect(tell({ finishes: [deliver(tarn, 2), deliver(oak)] })).toEqual([
      80,
      'finish-changed: “Tarn blue” has changed in 80 variants. Dyeworks has no record of its earlier state.',
    ]);
  });
});

describe('variants', () => {
  it('that are added, withdrawn and renamed are named, and what breaks a shop is marked', () => {
    const after = [{ ...eighty[0]!, name: 'Lake' }, ...eighty.slice(1, 79), { ...eighty[79]!, code: 'NEW' }];
    const { changes, variants } = compare({ variants: after });
    expect(changes.map(({ kind, variant, breaking }) => [kind, variant, breaking])).toEqual([
      ['variant-withdrawn', 'V80', true],
      ['variant-renamed', 'V1', true],
      ['variant-added', 'NEW', undefined],
    ]);
    expect(changes.map(({ message }) => message)).toEqual([
      '“Variant 80” (V80) is withdrawn.',
      '“Variant 1” (V1) is now named “Lake”. Shops that select variants by name must use the new name.',
      '“Variant 80” (NEW) is new.',
    ]);
    expect(variants).toBe(3);
  });

  it('that are named by code do not break a shop by a new name', () => {
    const renamed = [{ ...eighty[0]!, name: 'Lake' }, ...eighty.slice(1)];
    const [change] = compare({ names: 'code', variants: renamed }, {}, { names: 'code' }).changes;
    expect(change).toEqual({
      kind: 'variant-renamed',
      variant: 'V1',
      variants: 1,
      message: '“Variant 1” (V1) is now named “Lake”.',
    });
  });

  it('with the same new choice are one change', () => {
    const oaken = eighty.map((variant) => ({ ...variant, choices: { ...variant.choices, seat: 'OAK' } }));
    expect(tell({ variants: oaken })).toEqual([
      40,
      'variant-choices: “Seat shell” is “Oiled oak” in 40 variants; it was “Tarn blue”.',
    ]);
    const emptied = [{ ...eighty[0]!, choices: { legs: 'TARN' } }, ...eighty.slice(1)];
    expect(tell({ variants: emptied })).toEqual([
      1,
      'variant-choices: “Seat shell” is the model’s own material in “Variant 1” (V1); it was “Tarn blue”.',
    ]);
  });

  it('with another GTIN, default and order are told', () => {
    const [first, second, ...rest] = eighty as [(typeof eighty)[0], (typeof eighty)[0]];
    const after = [second, { ...first, gtin: '04012345678901' }, ...(rest as typeof eighty)];
    expect(tell({ variants: after, default: 'V2' })).toEqual([
      1,
      'variant-gtin: “Variant 1” (V1) has the GTIN 04012345678901.',
      'default-changed: The default variant is V2; it was V1.',
      'order-changed: The variants have another order.',
    ]);
  });

  it('are listed a hundred at a time, and the others counted', () => {
    const many = Array.from({ length: 10_000 }, (_, i) => ({ ...eighty[0]!, code: `N${i}`, name: `New ${i}` }));
    const { changes, variants } = compare({ variants: [...eighty, ...many] });
    expect(variants).toBe(10_000);
    expect(changes).toHaveLength(101);
    expect(changes[100]).toEqual({ kind: 'variant-added', variants: 9900, message: '9,900 more variants are new.' });
  });
});

describe('model, slots and file', () => {
  const model = { revision: 4, sha256: SHA('b'), bytes: 3_900_000 };

  it('another model says its revision, size and weight', () => {
    const was = { widthMm: 460, depthMm: 480, heightMm: 820 };
    expect(tell({ model }, { size: { was, is: { ...was, heightMm: 790 } } })).toEqual([
      80,
      'model-changed: The model is revision 4; it was revision 1. Its size is 460 × 480 × 790 mm; it was 460 × 480 × 820 mm. Its file has 3.9 MB; it had 4.1 MB.',
    ]);
    expect(tell({ model: null })).toEqual([80, 'model-changed: The product has no model now.']);
  });

  it('a slot with other settings says which', () => {
    const [slot] = base.slots as [Holding['slots'][number]];
    const after = [{ ...slot, grainDegrees: 90, keep: { ...KEEP_ALL, wear: false } }];
    expect(tell({ slots: after })).toEqual([
      80,
      'slot-changed: On “Seat shell”, other maps of the part are kept, and the direction is 90°; it was 0°.',
    ]);
    expect(compare({ slots: [] }).changes.map(({ kind }) => kind)).toEqual(['slot-removed']);
    expect(compare({ slots: [slot, { ...slot, slot: 'legs' }] }).changes.map(({ kind }) => kind)).toEqual([
      'slot-added',
    ]);
  });

  it('names by code are a change that breaks shops', () => {
    expect(compare({ names: 'code' }).changes).toMatchObject([{ kind: 'names-changed', breaking: true, variants: 80 }]);
  });

  it('two files differ in weight; without another reason, the program is it', () => {
    const file = (letter: string, bytes: number) => ({
      sha256: SHA(letter),
      bytes,
      mediaType: 'model/gltf-binary' as const,
    });
    expect(tell({ file: file('2', 4_300_000) }, {}, { file: file('1', 4_200_000) })).toEqual([
      80,
      'weight-changed: The file has 4.3 MB; it had 4.2 MB.',
      'file-changed: The file differs, although the product does not. Another version of Dyeworks wrote it.',
    ]);
    const { changes } = compare({ names: 'code', file: file('2', 4_200_120) }, {}, { file: file('1', 4_200_000) });
    expect(changes.map(({ kind }) => kind)).toEqual(['names-changed', 'weight-changed']);
    expect(changes[1]!.message).toBe('The file is 120 bytes larger.');
  });
});

it('every sentence is in plain English', () => {
  const texts = listTexts('server/core/texts/delivery-changes.ts');
  expect(texts.length).toBeGreaterThan(30);
  expect(texts.flatMap(({ text, where }) => listRetiredWords(text).map((word) => `${where}: ${word}`))).toEqual([]);
});
