import type { Document } from '@gltf-transform/core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { RawPicture, Renderer } from '../../server/core/ports/renderer.ts';
import { planSeparations, type Separation } from '../../server/core/repair/plan-separations.ts';
import type { Repair } from '../../server/core/repair/repair.ts';
import { listSceneNodes } from '../../server/gltf/document/world-matrices.ts';
import { colourPieces } from '../../server/gltf/geometry/pieces/colour-pieces.ts';
import { findPieces } from '../../server/gltf/geometry/pieces/find-pieces.ts';
import { createModelFolder } from '../renderer/models.ts';
import { openRenderer } from '../renderer/open-renderer.ts';
import { addPart, addTexture, createDocument, createSheet } from '../support/build-model.ts';
import { readGlb } from '../support/glb.ts';
import { createIo } from '../support/gltf-io.ts';
import { repairBytes } from '../support/repair.ts';
import { makeSupplierChair } from '../support/supplier-chair.ts';

const SIZE_PX = 192;

/**
 * Levels of 255 by which a pixel may differ, and the share of pixels that may differ by more. Baked positions are
 * rounded to single precision, so an edge can fall to the other side of a sample; shading does not change. In software
 * GL, no observed channel differed by more than one level. If this fails, look at both pictures for a part that is
 * missing, inside out, or of another colour.
 */
const LEVELS = 2;
const SHARE = 0.001;

describe('a model looks the same', () => {
  const models = createModelFolder();
  let renderer: Renderer;
  let taken = 0;

  beforeAll(async () => {
    renderer = await openRenderer();
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    models.remove();
  });

  const take = (bytes: Uint8Array): Promise<RawPicture> =>
    renderer.takeProduct({
      file: models.write(`model-${taken++}`, bytes),
      assignments: [],
      view: 'three-quarter',
      mount: 'floor',
      widthPx: SIZE_PX,
      heightPx: SIZE_PX,
      ground: 'white',
      quality: 'draft',
    });

  async function expectSame(before: Uint8Array, repairs: readonly Repair[]): Promise<void> {
    const { glb, reports } = await repairBytes(before, repairs);
    for (const { outcome } of reports) expect(outcome).toBe('done');
    const [was, is] = [await take(before), await take(glb)];
    // Two empty pictures would also be equal.
    expect(share(was, is, (a) => a < 200)).toBeGreaterThan(0.05);
    expect(share(was, is, (a, b) => Math.abs(a - b) > LEVELS)).toBeLessThanOrEqual(SHARE);
  }

  it('with its loose parts merged', async () => {
    await expectSame(await makeSupplierChair({ scale: 0.01 }), [{ repair: 'merge-parts' }]);
  });

  it('with its pieces separated as proposed, and merged after that', async () => {
    const chair = await makeSupplierChair({ scale: 0.01 });
    const { json, bin } = readGlb(chair);
    const pieces = await colourPieces({ json, bin }, findPieces({ json, bin }, listSceneNodes(json)));
    const [{ groups }] = planSeparations(pieces, 0) as [Separation];
    const separate: Repair = { repair: 'separate-pieces', material: 'baked', groups };
    await expectSame(chair, [separate]);
    await expectSame(chair, [separate, { repair: 'merge-parts' }]);
  });

  it('with mirrored, turned, flat and tinted parts merged', async () => {
    await expectSame(await makeOddParts(), [{ repair: 'merge-parts' }]);
  });

  it('with its transforms baked', async () => {
    await expectSame(await makeOddParts(), [{ repair: 'bake-transforms' }]);
  });

  it('scaled: the studio frames the product at any size', async () => {
    await expectSame(await makeSupplierChair({ scale: 0.01 }), [{ repair: 'scale', factor: 1.25 }]);
  });
});

/** Standing sheets. For each, merging must bake in or fill up something different. */
async function makeOddParts(): Promise<Uint8Array> {
  const document: Document = createDocument();
  const material = document.createMaterial('cloth').setMetallicFactor(0).setRoughnessFactor(0.7);
  material.setBaseColorTexture(await addTexture(document, 'noise', 3)).setBaseColorFactor([0.6, 0.5, 0.4, 1]);
  const scene = document.getRoot().listScenes()[0]!;
  const place = (x: number, primitive: ReturnType<typeof createSheet>, scale: [number, number, number], turn = 0.6) => {
    const mesh = document.createMesh().addPrimitive(primitive);
    const node = document.createNode().setMesh(mesh).setTranslation([x, 0.4, 0]).setScale(scale);
    scene.addChild(node.setRotation([Math.sin(turn / 2), 0, 0, Math.cos(turn / 2)]));
  };
  const part = { name: '', material, cells: 6 };
  addPart(document, { ...part, name: 'plain' });
  place(1.2, createSheet(document, part), [-1, 1, 1]);
  place(2.4, createSheet(document, { ...part, colours: true }), [1, 40, 0.5], 1.2);
  place(3.6, createSheet(document, part).setAttribute('NORMAL', null), [1, 60, 1], 0.9);
  place(4.8, createSheet(document, { ...part, uv: false }), [1, 1, -1], 0.7);
  return (await createIo()).writeBinary(document);
}

/** Share of the channels of the two pictures that meet a condition. */
function share(a: RawPicture, b: RawPicture, holds: (a: number, b: number) => boolean): number {
  let count = 0;
  for (let at = 0; at < a.rgba.length; at++) if (at % 4 !== 3 && holds(a.rgba[at]!, b.rgba[at]!)) count++;
  return count / (a.rgba.length * 0.75);
}
