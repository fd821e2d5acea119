import { Document } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import { projectGrain, proposeGrain } from '../../../../../server/core/product/slot-defaults.ts';
import type { GrainFacts, GrainMark } from '../../../../../server/core/product/survey.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { makeFinish } from '../../../../support/make-finish.ts';
import { addSolid, joinSolids, makeGrid, type Solid } from '../../../../support/make-solid.ts';
import { measureRepeats } from '../../../../support/measure-repeats.ts';
import { createSplicer } from '../../../../support/splice.ts';
import { surveyDocument } from '../../../../support/survey.ts';

type Vector = readonly [number, number, number];

/** A flat panel: its middle, two half sides, right and up as seen from outside, and where its UVs stand for a step. */
function makePanel(
  right: Vector,
  up: Vector,
  lay: (x: number, y: number) => readonly [number, number] = (x, y) => [x, -y],
  middle: Vector = [0, 0, 0],
): Solid {
  const [wide, high] = [Math.hypot(...right), Math.hypot(...up)];
  const solid = makeGrid(
    4,
    4,
    (u, v) => [0, 1, 2].map((k) => middle[k]! + right[k]! * (2 * u - 1) + up[k]! * (2 * v - 1)) as unknown as Vector,
  );
  const uvs = solid.uvs.slice();
  for (let i = 0; i < uvs.length; i += 2) {
    uvs.set(lay((solid.uvs[i]! * 2 - 1) * wide, (solid.uvs[i + 1]! * 2 - 1) * high), i);
  }
  return { ...solid, uvs };
}

async function measure(...solids: readonly Solid[]): Promise<GrainFacts> {
  const document = new Document();
  addSolid(document, 'part', joinSolids(solids), document.createMaterial('part'));
  return (await surveyDocument(document)).survey.materials[0]!.grain!;
}

const turn = (x: number, y: number, degrees: number): [number, number] => {
  const a = (degrees * Math.PI) / 180;
  return [x * Math.cos(a) - y * Math.sin(a), x * Math.sin(a) + y * Math.cos(a)];
};

/** Apart as directions without a head. */
const apart = (a: number, b: number) => Math.min(Math.abs(a - b) % 180, 180 - (Math.abs(a - b) % 180));

// What a turn is: a finish at 0° has its grain along V, up as seen where U runs right and V down (glTF 2.0 §3.8.2: the
// origin of UVs is the upper left), and each degree turns it counter-clockwise as seen, which test/journey/grain.test.ts
// proves in two engines.
describe('the turn along the longer direction', () => {
  it.each<[string, Vector, Vector, number]>([
    ['upright, twice as high as wide', [0.5, 0, 0], [0, 1, 0], 0],
    ['lying, twice as wide as high', [1, 0, 0], [0, 0.5, 0], 90],
    ['a table top, twice as wide as deep', [1, 0, 0], [0, 0, -0.5], 90],
    ['a table top, twice as deep as wide', [0.5, 0, 0], [0, 0, -1], 0],
    ['the side of a bench', [0, 0, -1], [0, 0.5, 0], 90],
  ])('of a panel %s', async (_, right, up, degrees) => {
    const { along, elongation } = await measure(makePanel(right, up));
    expect(apart(along!.degrees, degrees)).toBeLessThan(1e-4);
    expect(along!.agreement).toBeCloseTo(1, 6);
    expect(along!.share).toBe(1);
    // exactly the ratio of the sides
    expect(elongation).toBeCloseTo(2, 6);
  });

  it.each([0, 10, 30, 75, 90, 135, 179])('follows a panel that leans %d° counter-clockwise as seen', async (lean) => {
    const [rx, ry] = turn(0.2, 0, lean);
    const [ux, uy] = turn(0, 1, lean);
    // upright UVs on a leaning panel
    const { along } = await measure(
      makePanel([rx, ry, 0], [ux, uy, 0], (x, y) => {
        const [px, py] = turn(x, y, lean);
        return [px, -py];
      }),
    );
    expect(apart(along!.degrees, lean)).toBeLessThan(1e-4);
    // seen in a mirror, which mirrored UVs are, it is the other way round
    const mirrored = await measure(
      makePanel([rx, ry, 0], [ux, uy, 0], (x, y) => {
        const [px, py] = turn(x, y, lean);
        return [-px, -py];
      }),
    );
    expect(apart(mirrored.along!.degrees, 180 - lean)).toBeLessThan(1e-4);
  });

  it.each([0, 20, 90, 160])('turns back what the UVs were turned by, %d°', async (by) => {
    const { along } = await measure(
      makePanel([0.3, 0, 0], [0, 1, 0], (x, y) => {
        const [px, py] = turn(x, y, by);
        return [px, -py];
      }),
    );
    expect(apart(along!.degrees, by)).toBeLessThan(1e-4);
  });

  it('is asked piece by piece: four legs and a rail, each laid along itself', async () => {
    const legs = [-1, 1].flatMap((x) => [-1, 1].map((z) => makePanel([0.02, 0, 0], [0, 0.4, 0], undefined, [x, 0, z])));
    const rail = makePanel([0.5, 0, 0], [0, 0.03, 0], (x, y) => [y, x], [0, 0.6, 0]);
    const { along, elongation } = await measure(...legs, rail);
    expect(apart(along!.degrees, 0)).toBeLessThan(1e-4);
    expect(along!.agreement).toBeCloseTo(1, 6);
    expect(elongation).toBeGreaterThan(10);
  });

  it('says how far pieces of the same size that were laid crosswise disagree', async () => {
    const upright = makePanel([0.1, 0, 0], [0, 0.5, 0]);
    const crosswise = makePanel([0.1, 0, 0], [0, 0.5, 0], (x, y) => [y, x], [1, 0, 0]);
    expect((await measure(upright, crosswise)).along!.agreement).toBeLessThan(1e-6);
    expect((await measure(upright, upright, crosswise)).along!.agreement).toBeLessThan(0.4);
  });

  it('is none of a square, and of one nearly so', async () => {
    expect((await measure(makePanel([0.5, 0, 0], [0, 0.5, 0]))).along).toBeNull();
    expect((await measure(makePanel([0.5, 0, 0], [0, 0.55, 0]))).along).toBeNull();
    expect((await measure(makePanel([0.5, 0, 0], [0, 0.65, 0]))).along).not.toBeNull();
  });

  it('is the same under a node that turns, mirrors and scales', async () => {
    const document = new Document();
    const node = addSolid(document, 'part', makePanel([300, 0, 0], [0, 1000, 0]), document.createMaterial('part'));
    node.setScale([-0.001, 0.001, 0.001]).setRotation([0, 0, Math.SQRT1_2, Math.SQRT1_2]);
    const { grain } = (await surveyDocument(document)).survey.materials[0]!;
    expect(apart(grain!.along!.degrees, 0)).toBeLessThan(1e-3);
    // turned by a quarter it lies on its side, so hanging is across
    expect(apart(grain!.hanging!.degrees, 90)).toBeLessThan(1e-3);
  });
});

describe('the turn of hanging cloth', () => {
  it.each<[string, Vector, Vector, number]>([
    ['a seat', [0.4, 0, 0], [0, 0, -0.4], 1],
    ['a back', [0.4, 0, 0], [0, 0.4, 0], 0],
    ['the back of a back', [-0.4, 0, 0], [0, 0.4, 0], 0],
    ['the side of an arm', [0, 0, -0.4], [0, 0.4, 0], 0],
    ['a seat that leans back', [0.4, 0, 0], [0, -0.1, -0.4], 1],
  ])('of %s with upright UVs is none', async (_, right, up, lying) => {
    const facts = await measure(makePanel(right, up));
    expect(apart(facts.hanging!.degrees, 0)).toBeLessThan(1e-4);
    expect(facts.hanging!.agreement).toBeCloseTo(1, 6);
    expect(facts.lying).toBe(lying);
  });

  it('of a seat laid crosswise is a quarter', async () => {
    const { hanging } = await measure(makePanel([0.4, 0, 0], [0, 0, -0.4], (x, y) => [y, x]));
    expect(apart(hanging!.degrees, 90)).toBeLessThan(1e-4);
  });

  it('is one for a seat and a back laid from one piece of cloth', async () => {
    const seat = makePanel([0.25, 0, 0], [0, 0, -0.25]);
    const back = makePanel([0.25, 0, 0], [0, 0.25, 0], undefined, [0, 0.25, -0.25]);
    const { hanging, lying } = await measure(seat, back);
    expect(hanging!.agreement).toBeCloseTo(1, 6);
    expect(lying).toBeCloseTo(0.5, 6);
  });
});

describe('the mark of a direction', () => {
  it.each<[GrainMark['view'], Vector, Vector]>([
    ['front', [0.4, 0, 0], [0, 0.3, 0]],
    ['side', [0, 0, -0.4], [0, 0.3, 0]],
    ['back', [-0.4, 0, 0], [0, 0.3, 0]],
    ['top', [0.4, 0, 0], [0, 0, -0.3]],
  ])('stands in the view a panel faces, %s, and turns counter-clockwise in it', async (view, right, up) => {
    const middle: Vector = [0.1, 0.2, 0.3];
    const { mark } = await measure(makePanel(right, up, undefined, middle));
    expect(mark!.view).toBe(view);
    expect(mark!.max.map((high, k) => high - mark!.min[k]!)).toEqual([expect.closeTo(0.8, 6), expect.closeTo(0.6, 6)]);
    for (const degrees of [0, 30, 90, 150]) {
      // up at 0°, and counter-clockwise from there
      const shown = projectGrain(mark!, degrees)!;
      expect(apart(shown.degrees, 90 + degrees)).toBeLessThan(1e-4);
      expect(shown.agreement).toBeCloseTo(1, 6);
    }
  });

  it('is on the piece that shows most of itself, and agrees less where directions vary', async () => {
    const small = makePanel([0.1, 0, 0], [0, 0.1, 0], undefined, [5, 0, 0]);
    // a tube about Y, its UVs across: right in the middle as everywhere
    const tube = makeGrid(8, 32, (u, v) => [Math.sin(u * 2 * Math.PI), 2 * v, Math.cos(u * 2 * Math.PI)]);
    const { mark } = await measure(small, tube);
    expect(mark!.view).toBe('front');
    expect(mark!.max[1] - mark!.min[1]).toBeCloseTo(2, 6);
    // V runs up along it, U around
    expect(apart(projectGrain(mark!, 0)!.degrees, 90)).toBeLessThan(1e-3);
    expect(apart(projectGrain(mark!, 90)!.degrees, 0)).toBeLessThan(1e-3);
  });

  it('is on a piece with a length where such pieces lead, though another shows more', async () => {
    const board = makePanel([0.3, 0, 0], [0, 0, -0.3]);
    const leg = makePanel([0.1, 0, 0], [0, 0.4, 0], undefined, [1, 0, 0]);
    expect((await measure(board, leg)).mark!.view).toBe('front');
    const thin = makePanel([0.01, 0, 0], [0, 0.4, 0], undefined, [1, 0, 0]);
    expect((await measure(board, thin)).mark!.view).toBe('top');
  });

  it('is none where nothing faces a view, and grain none where there are no UVs', async () => {
    // from below
    expect((await measure(makePanel([0.4, 0, 0], [0, 0, 0.4]))).mark).toBeNull();
    const document = new Document();
    const solid = makePanel([0.4, 0, 0], [0, 0.4, 0], () => [0, 0]);
    addSolid(document, 'part', solid, document.createMaterial('part'));
    expect((await surveyDocument(document)).survey.materials[0]!.grain).toBeNull();
  });
});

const splicer = createSplicer();
afterAll(() => splicer.close());

// KHR_texture_transform, README: uv' = translation × rotation × scale × uv, the rotation being counter-clockwise as
// grain.test.ts has it proven
describe('a proposal that is taken over', () => {
  it.each([0, 25, 90, 140])('lays V of the map along a panel that leans %d°', async (lean) => {
    const [rx, ry] = turn(0.2, 0, lean);
    const [ux, uy] = turn(0, 1, lean);
    const document = new Document();
    const solid = makePanel([rx, ry, 0], [ux, uy, 0], (x, y) => {
      const [px, py] = turn(x, y, lean);
      return [px, -py];
    });
    addSolid(document, 'part', solid, document.createMaterial('part'));
    const glb = await (await createIo()).writeBinary(document);
    const proposal = proposeGrain((await splicer.survey(glb)).materials[0]!.grain, ['wood'])!;
    expect(proposal).toMatchObject({ confidence: 'clear', grainDegrees: lean });
    const { output } = await splicer.splice(glb, {
      finishes: [makeFinish('OAK', { maps: { colour: 'grain' }, tile: { widthMm: 300, heightMm: 300 } })],
      rows: [{ part: 'OAK' }],
      maps: { grain: { bytes: await makePng(), mimeType: 'image/png' } },
      changeSlot: () => ({ grainDegrees: proposal.grainDegrees! }),
    });
    const info = output.json.materials!.find(({ name }) => name === 'part/OAK')!.pbrMetallicRoughness!
      .baseColorTexture!;
    const { rotation = 0, scale = [1, 1] } = (info.extensions?.KHR_texture_transform ?? {}) as {
      rotation?: number;
      scale?: number[];
    };
    // the panel's length, as a step in its UVs
    const [u, v] = [ux * scale[0]!, -uy * scale[1]!];
    const across = Math.cos(rotation) * u + Math.sin(rotation) * v;
    const along = Math.cos(rotation) * v - Math.sin(rotation) * u;
    expect(Math.abs(across)).toBeLessThan(1e-6);
    expect(Math.abs(along)).toBeCloseTo(1 / 0.3, 5);
  });
});

// the same, where U and V are of different size, and where the part's own map is mirrored or turned in them
describe('a proposal on UVs that are drawn out, or laid by a transform', () => {
  it.each<[string, number, number, { scale?: [number, number]; rotation?: number }]>([
    ['drawn out along U', 25, 3, {}],
    ['drawn out along V', 140, 0.3, {}],
    ['mirrored by the map’s transform', 25, 0.5, { scale: [-1, 1] }],
    ['turned by the map’s transform', 65, 2, { scale: [2, 3], rotation: Math.PI / 2 }],
    ['turned slantwise by the map’s transform', 25, 1, { rotation: 0.4 }],
  ])('%s runs along the panel in the delivered file', async (_, lean, factor, lay) => {
    const [rx, ry] = turn(0.2, 0, lean);
    const [ux, uy] = turn(0, 1, lean);
    const document = new Document();
    const solid = makePanel([rx, ry, 0], [ux, uy, 0], (x, y) => {
      const [px, py] = turn(x, y, lean);
      return [px * factor, -py];
    });
    const texture = document
      .createTexture('own')
      .setImage(new Uint8Array(await makePng()))
      .setMimeType('image/png');
    const material = document.createMaterial('part').setBaseColorTexture(texture);
    const transform = document.createExtension(KHRTextureTransform).createTransform();
    if (lay.scale) transform.setScale(lay.scale);
    if (lay.rotation) transform.setRotation(lay.rotation);
    material.getBaseColorTextureInfo()!.setExtension('KHR_texture_transform', transform);
    addSolid(document, 'part', solid, material);
    const glb = await (await createIo()).writeBinary(document);
    const { grain } = (await splicer.survey(glb)).materials[0]!;
    const proposal = proposeGrain(grain, ['wood'])!;
    expect(proposal.confidence).toBe('clear');
    // what is shown of it stands up the panel, seen from the front
    const shown = projectGrain(grain!.mark!, grain!.along!.degrees)!;
    expect(apart(shown.degrees, 90 + lean)).toBeLessThan(0.01);
    const { file } = await splicer.splice(glb, {
      finishes: [makeFinish('OAK', { maps: { colour: 'grain' }, tile: { widthMm: 300, heightMm: 300 } })],
      rows: [{ part: 'OAK' }],
      maps: { grain: { bytes: await makePng(), mimeType: 'image/png' } },
      changeSlot: () => ({ grainDegrees: grain!.along!.degrees }),
    });
    for (const { down } of await measureRepeats(file, 'part/OAK')) {
      expect(Math.abs(down[0] * ux + down[1] * uy)).toBeCloseTo(0.3, 5);
      expect(Math.hypot(...down)).toBeCloseTo(0.3, 5);
    }
  });
});

async function makePng(): Promise<Uint8Array> {
  return sharp({ create: { width: 4, height: 4, channels: 3, background: '#888888' } })
    .png()
    .toBuffer();
}
