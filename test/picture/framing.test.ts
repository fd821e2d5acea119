import { Document, NodeIO } from '@gltf-transform/core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { cropLayer } from '../../renderer/layers/layer.ts';
import type { ProductShot, Renderer, StudioFile } from '../../server/core/ports/renderer.ts';
import { createBox, createModelFolder } from '../renderer/models.ts';
import { openOwnRenderer, openRenderer } from '../renderer/open-renderer.ts';
import { comparePictures } from '../support/compare-pictures.ts';
import { measureOutline } from '../support/measure-outline.ts';
import { takeLayer } from '../support/take-layer.ts';

// A block of 1 × 1 × 0.2 m with a red knob of 0.04 m low on its back, which no view from the front shows, and another
// knob inside, which no view shows. And a shade: a green cone, open above and below, with a red one close inside it.
// Both are one-sided, so only green is visible from the front, and red only from above.

const SIZE = { widthPx: 200, heightPx: 150 };
const KNOB = [{ mesh: 1, primitive: 0 }];

describe('framing', () => {
  const models = createModelFolder();
  let whole: Renderer;
  let tiled: Renderer;
  let file: StudioFile;

  beforeAll(async () => {
    file = models.write('block', await makeBlock());
    [whole, tiled] = [await openRenderer(), await openOwnRenderer({ tilePx: 64 })];
  }, 120_000);
  afterAll(async () => {
    await whole?.close();
    await tiled?.close();
    models.remove();
  });

  const shot = (change: Partial<ProductShot> = {}): ProductShot => ({
    file,
    assignments: [],
    view: 'three-quarter',
    mount: 'floor',
    ...SIZE,
    ground: 'transparent',
    quality: 'draft',
    ...change,
  });

  it('draws a picture in tiles exactly as in one piece, including the shadow', async () => {
    for (const ground of ['transparent', 'white'] as const) {
      const [one, many] = [await whole.takeProduct(shot({ ground })), await tiled.takeProduct(shot({ ground }))];
      expect(comparePictures(one.rgba, many.rgba).most).toBeLessThanOrEqual(1);
    }
  });

  it('draws a layer in tiles exactly as in one piece', async () => {
    const { ground: _, ...layer } = shot();
    const [one, many] = [
      cropLayer(await takeLayer(whole, { ...layer, shows: KNOB, view: 'back' })),
      cropLayer(await takeLayer(tiled, { ...layer, shows: KNOB, view: 'back' })),
    ];
    const place = ({ left, top, widthPx, heightPx }: typeof one) => ({ left, top, widthPx, heightPx });
    expect(place(many)).toEqual(place(one));
    expect(many.whole.length).toBeGreaterThan(0);
    expect([...many.whole]).toEqual([...one.whole]);
  });

  it('puts an even colour behind the product', async () => {
    const clear = await whole.takeProduct(shot());
    const { rgba } = await whole.takeProduct(shot({ ground: '#c08040' }));
    const expected = over(clear.rgba, [0xc0, 0x80, 0x40]);
    expect(comparePictures(rgba, expected).most).toBeLessThanOrEqual(1);
    expect([...rgba.subarray(0, 4)]).toEqual([0xc0, 0x80, 0x40, 255]);
  });

  it('looks at a part from a side that shows it, large, and clear of the object it is on', async () => {
    const picture = await whole.takeProduct(shot({ view: 'clearest', closeOn: KNOB, widthPx: 200, heightPx: 200 }));
    const box = measureOutline(picture, isRed);
    expect(Math.max(box.width, box.height)).toBeGreaterThan(0.8 * 200);
    expect(Math.max(box.width, box.height)).toBeLessThan(0.9 * 200);
    // The block behind it fills the rest of the frame.
    expect(picture.rgba[3]).toBe(255);
  });

  it('prefers the outer side of a part to a larger view of its inside', async () => {
    const shade = models.write('shade', await makeShade());
    const close = shot({ file: shade, view: 'clearest', closeOn: [{ mesh: 0, primitive: 0 }], mount: 'ceiling' });
    const { rgba } = await whole.takeProduct(close);
    let [outside, inside] = [0, 0];
    for (let at = 0; at < rgba.length; at += 4) {
      if (rgba[at + 3]! < 128) continue;
      if (rgba[at + 1]! > rgba[at]!) outside++;
      else inside++;
    }
    expect(outside).toBeGreaterThan(0.15 * SIZE.widthPx * SIZE.heightPx);
    expect(outside).toBeGreaterThan(3 * inside);
  });

  it('keeps to the usual side of a part that other sides show equally well', async () => {
    // A slab three times as wide as deep: its side fills a frame better, its front shows more of it.
    const slab = models.write('slab', await makeSlab());
    const close = shot({ file: slab, view: 'clearest', closeOn: [{ mesh: 0, primitive: 0 }] });
    const [near, usual] = [await whole.takeProduct(close), await whole.takeProduct(shot({ file: slab }))];
    // The same stand frames the same outline, larger by the strip of floor around a product.
    const [one, other] = [measureOutline(near), measureOutline(usual)];
    expect(one.width / one.height).toBeCloseTo(other.width / other.height, 1);
  });

  it('reports that no view shows a part', async () => {
    const inside = shot({ view: 'clearest', closeOn: [{ mesh: 2, primitive: 0 }] });
    await expect(whole.takeProduct(inside)).rejects.toMatchObject({ code: 'picture-nothing-to-see' });
    expect((await whole.takeProduct(shot())).rgba.some((value) => value > 0)).toBe(true);
  });

  it('keeps to a scale, and to the frame that remains after trimming', async () => {
    const square = { view: 'front', mount: 'ceiling', widthPx: 300, heightPx: 300 } as const;
    const scaled = measureOutline(await whole.takeProduct(shot({ ...square, framing: { pxPerM: 150 } })));
    // Half way through the block, a metre is 150 px. Its face is a tenth of a metre nearer to a camera of 85 mm: 300 px
    // ÷ 150 px/m ÷ 24 mm × 85 mm = 7.083 m away.
    expect(scaled.width).toBeGreaterThanOrEqual(Math.floor((150 * 7.083) / (7.083 - 0.1)) - 1);
    expect(scaled.width).toBeLessThanOrEqual(Math.ceil((150 * 7.083) / (7.083 - 0.1)) + 1);
    const trimmed = measureOutline(await whole.takeProduct(shot({ ...square, framing: { fill: 0.8, marginPx: 50 } })));
    expect(Math.abs(Math.max(trimmed.width, trimmed.height) - 160)).toBeLessThanOrEqual(1);
  });
});

function makeBlock(): Promise<Uint8Array> {
  const document = new Document();
  const grey = document.createMaterial('grey').setBaseColorFactor([0.2, 0.2, 0.2, 1]).setMetallicFactor(0);
  const red = document.createMaterial('red').setBaseColorFactor([0.8, 0.01, 0.01, 1]).setMetallicFactor(0);
  const scene = document.createScene();
  const block = document.createMesh('block').addPrimitive(createBox(document, grey, [1, 1, 0.2]));
  const knob = document.createMesh('knob').addPrimitive(createBox(document, red, [0.04, 0.04, 0.04]));
  scene.addChild(document.createNode('block').setMesh(block));
  scene.addChild(document.createNode('knob').setMesh(knob).setTranslation([0.2, 0.1, -0.12]));
  const core = document.createMesh('core').addPrimitive(createBox(document, red, [0.1, 0.1, 0.1]));
  scene.addChild(document.createNode('core').setMesh(core).setTranslation([0, 0.5, 0]));
  return new NodeIO().writeBinary(document);
}

/** A low wide cone, open at both ends: green outside, and just inside it a red one that faces its axis; one mesh. */
async function makeShade(): Promise<Uint8Array> {
  const document = new Document();
  const buffer = document.createBuffer();
  const mesh = document.createMesh('shade');
  for (const [name, colour, inset] of [
    ['outside', [0.01, 0.8, 0.01, 1], 0],
    ['inside', [0.8, 0.01, 0.01, 1], 0.002],
  ] as const) {
    const [positions, indices]: [number[], number[]] = [[], []];
    const sides = 48;
    for (let side = 0; side <= sides; side++) {
      const angle = (side / sides) * 2 * Math.PI;
      for (const [radius, y] of [
        [0.3, 0],
        [0.16, 0.2],
      ] as const) {
        positions.push((radius - inset) * Math.cos(angle), y, (radius - inset) * Math.sin(angle));
      }
      if (side === sides) continue;
      const [a, b, c, d] = [0, 1, 2, 3].map((corner) => side * 2 + corner) as [number, number, number, number];
      // Counter-clockwise seen from outside, and reversed for the inside.
      indices.push(...(inset === 0 ? [a, b, c, c, b, d] : [a, c, b, c, d, b]));
    }
    const material = document
      .createMaterial(name)
      .setBaseColorFactor([...colour])
      .setMetallicFactor(0);
    mesh.addPrimitive(
      document
        .createPrimitive()
        .setMaterial(material)
        .setAttribute(
          'POSITION',
          document.createAccessor().setType('VEC3').setArray(new Float32Array(positions)).setBuffer(buffer),
        )
        .setIndices(document.createAccessor().setType('SCALAR').setArray(new Uint16Array(indices)).setBuffer(buffer)),
    );
  }
  document.createScene().addChild(document.createNode('shade').setMesh(mesh));
  return new NodeIO().writeBinary(document);
}

async function makeSlab(): Promise<Uint8Array> {
  const document = new Document();
  const grey = document.createMaterial('grey').setBaseColorFactor([0.2, 0.2, 0.2, 1]).setMetallicFactor(0);
  const slab = document.createMesh('slab').addPrimitive(createBox(document, grey, [1.8, 0.6, 0.6]));
  document.createScene().addChild(document.createNode('slab').setMesh(slab));
  return new NodeIO().writeBinary(document);
}

const isRed = (pixel: Uint8Array) => pixel[3]! > 127 && pixel[0]! > 2 * pixel[1]! && pixel[0]! > 60;

/** Straight alpha over an even colour, rounded once (Porter and Duff, 1984). */
function over(rgba: Uint8Array, ground: readonly number[]): Uint8Array {
  return rgba.map((value, index) => {
    const channel = index % 4;
    if (channel === 3) return 255;
    const alpha = rgba[index - channel + 3]! / 255;
    return Math.round(value * alpha + ground[channel]! * (1 - alpha));
  });
}
