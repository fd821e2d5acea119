import type { Document, Material, Primitive } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { RawPicture, Renderer } from '../../server/core/ports/renderer.ts';
import { KEEP_ALL, type NormalKeep } from '../../server/core/product/slot.ts';
import { createModelFolder } from '../renderer/models.ts';
import { openRenderer } from '../renderer/open-renderer.ts';
import { createDocument, createSheet } from '../support/build-model.ts';
import { createIo } from '../support/gltf-io.ts';
import { makeFinish } from '../support/make-finish.ts';
import { makeFlatPng, makeNormalPng, normalOf } from '../support/make-normals.ts';
import { createSplicer } from '../support/splice.ts';

// A combined map of a part's and a finish's normals uses the part's UVs unchanged, while each source map may be turned.
// If one of the two is flat, the engine can show the other alone. It turns coordinates and tangent frame itself, and
// the combined map must look the same.

const SIZE_PX = 160;

/**
 * Levels of 255 by which a pixel may differ, and the share that may differ by more. The combined map is sampled twice,
 * once into its own texels, and rounded to eight bits once more. If this fails, look at both pictures. Light from the
 * wrong side means normals that were not turned with their map.
 */
const LEVELS = 3;
const SHARE = 0.002;
/** Share that differs at least if normals were turned the wrong way. Observed: above a half. */
const WRONG = 0.2;

/** Ridges that are steep on one side, and waves across them. No part looks the same turned or mirrored. */
const relief = (u: number, v: number) =>
  normalOf(
    0.5 * Math.sin(2 * Math.PI * u) + 0.25 * Math.sin(4 * Math.PI * u + 1),
    0.3 * Math.sin(2 * Math.PI * v + 0.5),
  );

/** The phase at which the waves across neither rise nor fall. */
const LEVEL = -0.5 / (2 * Math.PI);

interface Sheet {
  readonly image: Uint8Array;
  readonly transform?: {
    readonly scale?: [number, number];
    readonly rotation?: number;
    readonly offset?: [number, number];
  };
  readonly scale?: number;
  readonly mirrored?: boolean;
  readonly tangents?: boolean;
}

describe('normals of part and finish in one map', () => {
  const models = createModelFolder();
  const splicer = createSplicer();
  let renderer: Renderer;
  let flat: Uint8Array;
  let grain: Uint8Array;
  let taken = 0;

  beforeAll(async () => {
    flat = await makeFlatPng();
    grain = await makeNormalPng([64, 64], relief);
    renderer = await openRenderer();
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    await splicer.close();
    models.remove();
  });

  interface Laid {
    readonly normal: NormalKeep;
    /** The finish's normal map, one repeat 250 mm. */
    readonly map: Uint8Array;
    readonly degrees?: number;
    readonly tile?: readonly [widthMm: number, heightMm: number];
  }

  async function take(sheet: Sheet, { normal, map, degrees = 0, tile = [250, 250] }: Laid): Promise<RawPicture> {
    const cloth = makeFinish('CLOTH', {
      colour: { hex: '#b0b0b0' },
      roughness: 0.5,
      maps: { normal: 'grain' },
      tile: { widthMm: tile[0], heightMm: tile[1] },
    });
    const { file, written } = await splicer.splice(await makeSheet(sheet), {
      finishes: [cloth],
      rows: [{ part: 'CLOTH' }],
      maps: { grain: { bytes: map, mimeType: 'image/png' } },
      changeSlot: () => ({ keep: { ...KEEP_ALL, normal }, grainDegrees: degrees }),
    });
    expect(written.findings.map(({ code }) => code)).not.toContain('normals-not-combined');
    return renderer.takeProduct({
      file: models.write(`model-${taken++}`, file),
      assignments: [],
      view: 'top',
      mount: 'ceiling',
      widthPx: SIZE_PX,
      heightPx: SIZE_PX,
      ground: 'white',
      quality: 'draft',
    });
  }

  const expectSame = (a: RawPicture, b: RawPicture) => expect(share(a, b, LEVELS)).toBeLessThanOrEqual(SHARE);

  it.each([0, 30, 90, 200])(
    'look like the finish’s own on a flat part, turned by %i°',
    async (degrees) => {
      const alone = await take({ image: flat }, { normal: 'finish', map: grain, degrees });
      const baked = await take({ image: flat }, { normal: 'both-or-part', map: grain, degrees });
      expectSame(alone, baked);
      // The relief and its direction are visible.
      const even = await take({ image: flat }, { normal: 'finish', map: flat });
      const turned = await take({ image: flat }, { normal: 'both-or-part', map: grain, degrees: degrees + 180 });
      expect(share(alone, even, LEVELS)).toBeGreaterThan(WRONG);
      expect(share(alone, turned, LEVELS)).toBeGreaterThan(WRONG);
    },
    60_000,
  );

  it('look like the finish’s own if its repeat is not square and lies across', async () => {
    // Without tangents this engine flattens normals in the stretched direction, so there are none in that one.
    const ridges = await makeNormalPng([64, 64], (u) => relief(u, LEVEL));
    const laid = { map: ridges, degrees: 90, tile: [250, 500] } as const;
    const alone = await take({ image: flat }, { normal: 'finish', ...laid });
    expectSame(alone, await take({ image: flat }, { normal: 'both-or-part', ...laid }));
  }, 60_000);

  it('look like the finish’s own on mirrored UVs', async () => {
    const sheet = { image: flat, mirrored: true };
    const laid = { map: grain, degrees: 30 };
    const alone = await take(sheet, { normal: 'finish', ...laid });
    expectSame(alone, await take(sheet, { normal: 'both-or-part', ...laid }));
    const plain = await take({ image: flat }, { normal: 'finish', ...laid });
    expect(share(alone, plain, LEVELS)).toBeGreaterThan(WRONG);
  }, 60_000);

  it.each([30, 90])(
    'of a finish alone, turned by %i°, look the same on a part with tangents, which do not turn with its map',
    async (degrees) => {
      const laid = { normal: 'finish', map: grain, degrees } as const;
      expectSame(await take({ image: flat }, laid), await take({ image: flat, tangents: true }, laid));
    },
    60_000,
  );

  it('look the same on a part with tangents, which keep their direction', async () => {
    const laid = { normal: 'both-or-part', map: grain, degrees: 30 } as const;
    expectSame(await take({ image: flat }, laid), await take({ image: flat, tangents: true }, laid));
  }, 60_000);

  it.each([
    ['as it is', { scale: 0.5 }],
    ['in repeats', { transform: { scale: [4, 4] } }],
    ['turned and shifted', { transform: { scale: [3, 3], rotation: 0.5, offset: [0.3, 0.1] } }],
    ['mirrored', { transform: { scale: [-3, 3] } }],
    ['turned on tangents', { transform: { scale: [3, 3], rotation: 0.5 }, tangents: true }],
  ] as const)(
    'look like the part’s own under a flat finish, placed %s',
    async (_, how) => {
      const sheet = { image: grain, ...how } as Sheet;
      const alone = await take(sheet, { normal: 'part', map: flat });
      expectSame(alone, await take(sheet, { normal: 'both-or-finish', map: flat }));
      const even = await take({ image: flat }, { normal: 'part', map: flat });
      expect(share(alone, even, LEVELS)).toBeGreaterThan(WRONG);
    },
    60_000,
  );
});

/** A flat square of a metre, seen from above, its UVs once from 0 to 1. */
async function makeSheet({ image, transform, scale = 1, mirrored, tangents }: Sheet): Promise<Uint8Array> {
  const document = createDocument();
  const texture = document.createTexture('own').setMimeType('image/png').setImage(new Uint8Array(image));
  const material = document.createMaterial('part').setNormalTexture(texture).setNormalScale(scale);
  if (transform) layOwn(document, material, transform);
  const primitive = createSheet(document, { name: 'part', material, cells: 2 });
  flatten(primitive);
  if (mirrored) mirror(primitive);
  if (tangents) addTangents(document, primitive);
  const mesh = document.createMesh('part').addPrimitive(primitive);
  document.getRoot().listScenes()[0]!.addChild(document.createNode('part').setMesh(mesh));
  return (await createIo()).writeBinary(document);
}

function layOwn(document: Document, material: Material, { scale, rotation, offset }: NonNullable<Sheet['transform']>) {
  const lay = document.createExtension(KHRTextureTransform).createTransform();
  if (scale) lay.setScale(scale);
  if (rotation) lay.setRotation(rotation);
  if (offset) lay.setOffset(offset);
  material.getNormalTextureInfo()!.setExtension('KHR_texture_transform', lay);
}

function flatten(primitive: Primitive): void {
  const positions = primitive.getAttribute('POSITION')!;
  positions.setArray(Float32Array.from(positions.getArray() as Float32Array, (value, i) => (i % 3 === 1 ? 0 : value)));
}

function mirror(primitive: Primitive): void {
  const uvs = primitive.getAttribute('TEXCOORD_0')!;
  uvs.setArray(Float32Array.from(uvs.getArray() as Float32Array, (value, i) => (i % 2 === 0 ? 1 - value : value)));
}

/** u runs along +x, v along +z, so up in the map is -z: the bitangent is normal × tangent, its sign +1. */
function addTangents(document: Document, primitive: Primitive): void {
  const count = primitive.getAttribute('POSITION')!.getCount();
  const array = new Float32Array(Array.from({ length: count }, () => [1, 0, 0, 1]).flat());
  const buffer = document.getRoot().listBuffers()[0]!;
  primitive.setAttribute('TANGENT', document.createAccessor().setType('VEC4').setArray(array).setBuffer(buffer));
}

/** Share of the channels that differ by more than this many levels. */
function share(a: RawPicture, b: RawPicture, levels: number): number {
  let differing = 0;
  for (let at = 0; at < a.rgba.length; at++) {
    if (at % 4 !== 3 && Math.abs(a.rgba[at]! - b.rgba[at]!) > levels) differing++;
  }
  return differing / (a.rgba.length * 0.75);
}
