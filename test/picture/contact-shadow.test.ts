import { Document, NodeIO } from '@gltf-transform/core';
import { beforeAll, describe, expect, it } from 'vitest';
import { STANDS } from '../../server/core/picture/place-camera.ts';
import { makeStool } from '../../server/demo/stool.ts';
import { type EvenShot, type EvenStudio, openEvenStudio } from '../renderer/even-studio.ts';
import { createBox } from '../renderer/models.ts';
import { createTracer, traceFloor } from '../support/trace-occlusion.ts';
import { listWorldTriangles } from '../support/world-triangles.ts';

// The shadow is the share of an even sky that the floor loses, weighted by cosine. The first hit of a direction counts
// by its distance aside, s: (1 − s² / S²)², with S = 0.32 √(height × longest side). It is black over the ground with
// that coverage, so these tests measure coverage.

const SIZE_PX = 480;
const VIEW = 'three-quarter';

/** Each point has the square of this as rays: 2,304, whose noise is below 0.004. */
const RAYS_SIDE = 48;

const reachOf = (heightM: number, longestM: number) => 0.32 * Math.sqrt(heightM * longestM);
const countWithin = (reach: number) => (aside: number) => Math.max(1 - (aside / reach) ** 2, 0) ** 2;

describe('the traced occlusion', () => {
  it('of a disc overhead and of a sphere on the floor is the form factor', async () => {
    // Howell, Mengüç and Daun, Thermal Radiation Heat Transfer: from an element to a parallel disc on its axis r² / (h²
    // + r²), to a fully visible sphere R² / d² times the cosine, which is R / d here.
    const disc = createTracer(fan(2000, (turn) => [0.3 * Math.cos(turn), 0.4, 0.3 * Math.sin(turn)], [0, 0.4, 0]));
    expect(Math.abs(traceFloor(disc, [0, 0, 0], RAYS_SIDE, () => 1) - 0.36)).toBeLessThan(0.005);
    const sphere = createTracer(makeSphere(0.1));
    for (const away of [0.05, 0.1, 0.2]) {
      const expected = (0.1 / Math.hypot(away, 0.1)) ** 3;
      expect(Math.abs(traceFloor(sphere, [away, 0, 0], RAYS_SIDE, () => 1) - expected), `${away}`).toBeLessThan(0.008);
    }
  });
});

describe('the contact shadow', () => {
  let studio: EvenStudio;
  beforeAll(async () => {
    studio = await openEvenStudio();
  }, 120_000);

  const take = (key: string, file: Uint8Array) =>
    studio.takeProduct(file, {
      key,
      assignments: [],
      view: VIEW,
      mount: 'floor',
      widthPx: SIZE_PX,
      heightPx: SIZE_PX,
      quality: 'draft',
    });

  it('under a wide plate is the closed form', { timeout: 120_000 }, async () => {
    // A plate of 1 × 1 × 0.02 m at 0.2 m over the floor, on a pin in its corner.
    const reach = reachOf(0.22, 1);
    const shot = await take('plate', await makePlate());
    // With q = h² / S², the integral of (1 − q tan²θ)² 2 sinθ cosθ dθ up to tanθ = S / h.
    const q = (0.2 / reach) ** 2;
    const expected = 1 + 2 * q - 2 * q * (1 + q) * Math.log(1 + 1 / q);
    let seen = 0;
    for (const x of [-0.3, -0.15, 0, 0.15, 0.3]) {
      for (const z of [-0.2, 0, 0.2, 0.3]) {
        const shown = readFloor(shot, [x, 0, z]);
        if (shown === null) continue;
        seen++;
        expect(Math.abs(shown - expected), `at ${x}, ${z}`).toBeLessThan(0.006);
      }
    }
    expect(seen).toBeGreaterThan(5);
  });

  it('around a stool’s leg and under its seat agrees with ray tracing', { timeout: 300_000 }, async () => {
    const file = await makeStool();
    const tracer = createTracer(await listWorldTriangles(file));
    const shot = await take('stool', file);
    const count = countWithin(reachOf(0.45, 0.45));
    const found: { readonly traced: number; readonly error: number; readonly away: number }[] = [];
    const compare = (x: number, z: number, away: number) => {
      const shown = readFloor(shot, [x, 0, z]);
      if (shown === null) return;
      const traced = traceFloor(tracer, [x, 0, z], RAYS_SIDE, count);
      found.push({ traced, error: Math.abs(shown - traced), away });
    };
    // A foot stands 172 mm from the middle, on the diagonals, and is some 9 mm thick from its axis.
    const foot = 0.172 * Math.SQRT1_2;
    for (const [side, front] of [
      [-1, 1],
      [1, 1],
    ] as const) {
      for (let turn = 0; turn < 8; turn++) {
        for (const away of [0.012, 0.015, 0.02, 0.03, 0.045, 0.07, 0.1]) {
          const angle = (turn / 8) * 2 * Math.PI;
          compare(side * foot + Math.cos(angle) * away, front * foot + Math.sin(angle) * away, away);
        }
      }
    }
    for (const x of [-0.1, 0, 0.1]) for (const z of [-0.1, 0, 0.1]) compare(x, z, 1);
    const contact = found.filter(({ away }) => away < 0.018);
    const further = found.filter(({ away }) => away >= 0.018);
    expect(Math.min(contact.length, further.length)).toBeGreaterThan(10);
    expect(Math.max(...found.map(({ traced }) => traced))).toBeGreaterThan(0.25);
    const mean = found.reduce((sum, { error }) => sum + error, 0) / found.length;
    const worst = (of: typeof found) => Math.max(...of.map(({ error }) => error));
    const text = `of ${found.length}: mean ${mean}, worst ${worst(contact)} at the contact, ${worst(further)} further out`;
    // A few millimetres from the foot, the map's texels of 2 mm blur the steepest parts.
    expect(mean, text).toBeLessThan(0.012);
    expect(worst(contact), text).toBeLessThan(0.08);
    expect(worst(further), text).toBeLessThan(0.02);
  });
});

/** Shadow coverage at a visible floor point of the product, between pixels; null if something else is visible too. */
function readFloor(shot: EvenShot, [x, y, z]: readonly [number, number, number]): number | null {
  const { widthPx, heightPx, camera } = shot;
  const yaw = (-STANDS[VIEW].yawDegrees * Math.PI) / 180;
  const inRig = [x * Math.cos(yaw) + z * Math.sin(yaw), y, z * Math.cos(yaw) - x * Math.sin(yaw)];
  const [right, up, back, from] = [0, 4, 8, 12].map((at) => camera.world.slice(at, at + 3)) as number[][];
  const offset = inRig.map((value, axis) => value - from![axis]!);
  const along = (axis: number[]) => axis.reduce((sum, value, index) => sum + value * offset[index]!, 0);
  const depth = -along(back!);
  const column = ((1 + (camera.projection[0]! * along(right!)) / depth) / 2) * widthPx - 0.5;
  const row = ((1 - (camera.projection[5]! * along(up!)) / depth) / 2) * heightPx - 0.5;
  // Nearer to the edge of the frame, the shadow fades out.
  const inset = Math.min(column / widthPx, 1 - column / widthPx, row / heightPx, 1 - row / heightPx);
  if (inset < 0.13) return null;
  const [left, top] = [Math.floor(column), Math.floor(row)];
  const [s, t] = [column - left, row - top];
  let sum = 0;
  for (const [dx, dy, weight] of [
    [0, 0, (1 - s) * (1 - t)],
    [1, 0, s * (1 - t)],
    [0, 1, (1 - s) * t],
    [1, 1, s * t],
  ] as const) {
    const [red, , , cover] = shot.at(left + dx, top + dy);
    if (red > 0) return null;
    sum += weight * cover;
  }
  return sum;
}

async function makePlate(): Promise<Uint8Array> {
  const document = new Document();
  const material = document.createMaterial().setBaseColorFactor([0.5, 0.5, 0.5, 1]);
  const scene = document.createScene();
  const add = (size: [number, number, number], at: [number, number, number]) =>
    scene.addChild(
      document
        .createNode()
        .setMesh(document.createMesh().addPrimitive(createBox(document, material, size)))
        .setTranslation(at),
    );
  add([1, 0.02, 1], [0, 0.2, 0]);
  add([0.02, 0.2, 0.02], [-0.49, 0, -0.49]);
  return new NodeIO().writeBinary(document);
}

type Point = [number, number, number];

function fan(steps: number, rim: (turn: number) => Point, middle: Point) {
  const at = (step: number) => rim((step / steps) * 2 * Math.PI);
  return Array.from({ length: steps }, (_, step) => ({ corners: [middle, at(step), at(step + 1)] }));
}

/** A sphere that rests on y = 0. */
function makeSphere(radius: number) {
  const [rings, steps] = [64, 128];
  const at = (ring: number, step: number): Point => {
    const [polar, turn] = [(ring / rings) * Math.PI, (step / steps) * 2 * Math.PI];
    return [
      radius * Math.sin(polar) * Math.cos(turn),
      radius * (1 + Math.cos(polar)),
      radius * Math.sin(polar) * Math.sin(turn),
    ];
  };
  return Array.from({ length: rings * steps }, (_, index) => {
    const [ring, step] = [Math.floor(index / steps), index % steps];
    const [a, b, c, d] = [at(ring, step), at(ring + 1, step), at(ring + 1, step + 1), at(ring, step + 1)];
    return [{ corners: [a, b, c] }, { corners: [a, c, d] }];
  }).flat();
}
