import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { deltaE2000, linearToLab } from '../../server/core/colour/lab.ts';
import { decodeSrgb, type LinearRgb } from '../../server/core/colour/srgb.ts';
import type { Finish } from '../../server/core/finish/finish.ts';
import { type EvenShot, type EvenStudio, openEvenStudio } from '../renderer/even-studio.ts';
import { createDocument } from '../support/build-model.ts';
import { createIo } from '../support/gltf-io.ts';
import { makeFinish } from '../support/make-finish.ts';
import { addSolid, makeCube, makeGrid } from '../support/make-solid.ts';
import { type OpenedSecondEngine, openSecondEngine } from '../support/second-engine/open-second-engine.ts';
import { createSplicer } from '../support/splice.ts';

// Babylon.js 9.35 draws the delivered file in the same browser, with the same camera, under light of radiance 1 from
// everywhere and without a tone curve, by its own loader, shaders and tables. Opaque dielectrics must have the same
// mean colour over each slot, within ΔE00 2: only a trained eye sees a smaller difference (Mokrzycki & Tatol).
// Observed: 0.05 to 0.93, and 1.62 for the cloth, whose sheen each engine computes from its own tables.

const SIZE = { widthPx: 512, heightPx: 80 };

/** The row of parts, from the left. Every other part is a ball; the others are cubes with flat faces. */
const FINISHES: Readonly<Record<string, Partial<Finish>>> = {
  MATT: { family: 'paint', colour: { hex: '#2f5d73' }, roughness: 1 },
  SATIN: { family: 'powder-coat', colour: { hex: '#c03a2b' }, roughness: 0.5 },
  GLOSS: { family: 'plastic', colour: { hex: '#e8e4da' }, roughness: 0.1 },
  BLACK: { family: 'plastic', colour: { hex: '#101214' }, roughness: 0.35, ior: 1.6 },
  DULL: { family: 'plastic', colour: { hex: '#3a7d44' }, roughness: 0.6, specular: { factor: 0.4 } },
  LACQUER: { family: 'paint', colour: { hex: '#6b2d5c' }, roughness: 0.6, clearcoat: 1, clearcoatRoughness: 0.1 },
  GRAIN: {
    family: 'wood',
    colour: { hex: '#b08050' },
    maps: { colour: 'grain' },
    tile: { widthMm: 120, heightMm: 120, grainDegrees: 90 },
  },
  CLOTH: {
    family: 'textile',
    colour: { hex: '#37475a' },
    roughness: 0.9,
    sheen: { colour: '#808080', roughness: 0.5 },
  },
};
const CODES = Object.keys(FINISHES);

describe('a second engine', () => {
  const splicer = createSplicer();
  let studio: EvenStudio;
  let second: OpenedSecondEngine;
  beforeAll(async () => {
    studio = await openEvenStudio();
    second = await openSecondEngine();
  }, 180_000);
  afterAll(async () => {
    await second?.close();
    await splicer.close();
  });

  it('shows the same colours of opaque dielectrics, in the mean over each slot', async () => {
    const { file } = await splicer.splice(await makeRow(), {
      finishes: CODES.map((code) => makeFinish(code, FINISHES[code])),
      rows: [Object.fromEntries(CODES.map((code) => [code.toLowerCase(), code]))],
      maps: { grain: { bytes: await makeStripes(), mimeType: 'image/png' } },
    });
    const shot = await studio.takeProduct(file, {
      key: 'row',
      assignments: [],
      view: 'front',
      mount: 'ceiling',
      ...SIZE,
      quality: 'draft',
    });
    const other = await second.take(file, { ...SIZE, camera: shot.camera });
    const parts = findParts(shot);
    expect(parts).toHaveLength(CODES.length);
    parts.forEach((columns, index) => {
      const [ours, theirs] = meanOver(columns, shot, other);
      const off = deltaE2000(linearToLab(ours), linearToLab(theirs));
      expect.soft(off, `${CODES[index]}: ${ours} and ${theirs}`).toBeLessThanOrEqual(2);
    });
  });
});

/** Balls and cubes of 100 mm, 170 mm from middle to middle. */
async function makeRow(): Promise<Uint8Array> {
  const document = createDocument();
  CODES.forEach((code, index) => {
    const material = document.createMaterial(code.toLowerCase());
    const node = addSolid(document, code, index % 2 ? makeCube(0.1) : makeBall(0.05), material);
    node.setTranslation(index % 2 ? [index * 0.17 - 0.05, -0.05, -0.05] : [index * 0.17, 0, 0]);
    if (index % 2) return;
    const primitive = node.getMesh()!.listPrimitives()[0]!;
    const positions = primitive.getAttribute('POSITION')!;
    const normals = (positions.getArray() as Float32Array).map((value) => value / 0.05);
    primitive.setAttribute('NORMAL', positions.clone().setArray(normals as Float32Array<ArrayBuffer>));
  });
  return (await createIo()).writeBinary(document);
}

function makeBall(radius: number) {
  return makeGrid(24, 48, (u, v) => {
    const [turn, drop] = [u * 2 * Math.PI, v * Math.PI];
    return [Math.cos(turn) * Math.sin(drop), -Math.cos(drop), -Math.sin(turn) * Math.sin(drop)].map(
      (value) => value * radius,
    ) as unknown as readonly [number, number, number];
  });
}

/** A map of soft stripes, brown and lighter. */
async function makeStripes(): Promise<Uint8Array> {
  const side = 64;
  const data = Buffer.from(
    Array.from({ length: side * side }, (_, at) => {
      const share = 0.75 + 0.25 * Math.sin(((at % side) / side) * 8 * Math.PI);
      return [255, 240, 220].map((level) => Math.round(level * share));
    }).flat(),
  );
  return new Uint8Array(
    await sharp(data, { raw: { width: side, height: side, channels: 3 } })
      .png()
      .toBuffer(),
  );
}

/** Runs of columns with visible pixels, from the left. */
function findParts({ at, widthPx, heightPx }: EvenShot): readonly (readonly [from: number, to: number])[] {
  const parts: [number, number][] = [];
  let from = -1;
  for (let x = 0; x <= widthPx; x++) {
    const seen = x < widthPx && Array.from({ length: heightPx }, (_, y) => at(x, y)[3]).some((alpha) => alpha > 0);
    if (seen && from < 0) from = x;
    if (seen || from < 0) continue;
    parts.push([from, x]);
    from = -1;
  }
  return parts;
}

/** Means over the pixels that both pictures cover together with all their neighbours. */
function meanOver(
  [from, to]: readonly [number, number],
  shot: EvenShot,
  other: Uint8Array,
): readonly [LinearRgb, LinearRgb] {
  const { widthPx, heightPx } = shot;
  const their = (x: number, y: number) => ((heightPx - 1 - y) * widthPx + x) * 4;
  const covered = (x: number, y: number) => shot.at(x, y)[3] > 0.999 && other[their(x, y) + 3] === 255;
  const sums = [0, 0, 0, 0, 0, 0];
  let count = 0;
  for (let y = 1; y < heightPx - 1; y++) {
    for (let x = Math.max(from, 1); x < Math.min(to, widthPx - 1); x++) {
      const around = [-1, 0, 1].flatMap((dy) => [-1, 0, 1].map((dx) => covered(x + dx, y + dy)));
      if (!around.every(Boolean)) continue;
      count++;
      for (let channel = 0; channel < 3; channel++) {
        sums[channel]! += shot.at(x, y)[channel]!;
        sums[channel + 3]! += decodeSrgb(other[their(x, y) + channel]! / 255);
      }
    }
  }
  expect(count).toBeGreaterThan(300);
  const [r, g, b, r2, g2, b2] = sums.map((sum) => sum / count) as [number, number, number, number, number, number];
  return [
    [r, g, b],
    [r2, g2, b2],
  ];
}
