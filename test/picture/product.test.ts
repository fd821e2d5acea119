import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ProductShot, RawPicture, Renderer, StudioFile } from '../../server/core/ports/renderer.ts';
import { createModelFolder, makeBoxes, writeFinishGlb } from '../renderer/models.ts';
import { openRenderer } from '../renderer/open-renderer.ts';

const SIZE_PX = 128;

describe('pictures', () => {
  const models = createModelFolder();
  let renderer: Renderer;
  let boxes: StudioFile;
  const take = (more: Partial<ProductShot> = {}): Promise<RawPicture> =>
    renderer.takeProduct({
      file: boxes,
      assignments: [],
      view: 'three-quarter',
      mount: 'floor',
      widthPx: SIZE_PX,
      heightPx: SIZE_PX,
      ground: 'white',
      quality: 'draft',
      ...more,
    });

  beforeAll(async () => {
    // Very different finishes: dark and bright, red and blue.
    boxes = models.write(
      'boxes',
      await makeBoxes([
        [0.75, 0.1, 0.02],
        [0.01, 0.05, 0.3],
      ]),
    );
    renderer = await openRenderer();
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    models.remove();
  });

  it('look the same on white as the transparent picture over white', { timeout: 60_000 }, async () => {
    const [white, clear] = [await take(), await take({ ground: 'transparent' })];
    let off = 0;
    for (let at = 0; at < white.rgba.length; at += 4) {
      const alpha = clear.rgba[at + 3]! / 255;
      for (let channel = 0; channel < 3; channel++) {
        const over = clear.rgba[at + channel]! * alpha + 255 * (1 - alpha);
        off = Math.max(off, Math.abs(over - white.rgba[at + channel]!));
      }
      expect(white.rgba[at + 3]).toBe(255);
    }
    // Each of the two is rounded once, the transparent one in colour and in alpha.
    expect(off).toBeLessThanOrEqual(1);
  });

  it('are sums of their parts: no finish enters another part’s pixels', { timeout: 60_000 }, async () => {
    const wear = (lower: number, upper: number) =>
      take({
        assignments: [
          { mesh: 0, primitive: 0, material: lower },
          { mesh: 1, primitive: 0, material: upper },
        ],
      });
    const [both1, both2, mixed12, mixed21] = [await wear(1, 1), await wear(2, 2), await wear(1, 2), await wear(2, 1)];
    let off = 0;
    for (let at = 0; at < both1.rgba.length; at++) {
      const difference = both1.rgba[at]! + both2.rgba[at]! - mixed12.rgba[at]! - mixed21.rgba[at]!;
      off = Math.max(off, Math.abs(difference));
    }
    // Four roundings of half a level.
    expect(off).toBeLessThanOrEqual(2);
  });

  it('fill the frame and are centred in it', { timeout: 60_000 }, async () => {
    for (const view of ['front', 'three-quarter', 'side', 'top'] as const) {
      const box = getBox(await take({ ground: 'transparent', view, mount: 'ceiling' }));
      expect(Math.max(box.width, box.height) / SIZE_PX, view).toBeCloseTo(0.85, 1);
      expect(Math.abs(box.centreX - SIZE_PX / 2), view).toBeLessThan(2);
      expect(Math.abs(box.centreY - SIZE_PX / 2), view).toBeLessThan(2);
    }
  });

  it('have a shadow on the floor and none on a ceiling, and none at the edge of the frame', {
    timeout: 60_000,
  }, async () => {
    const [floor, ceiling] = [
      await take({ ground: 'transparent' }),
      await take({ ground: 'transparent', mount: 'ceiling' }),
    ];
    expect(countShadow(floor)).toBeGreaterThan(200);
    expect(countShadow(ceiling)).toBe(0);
    for (let at = 0; at < SIZE_PX; at++) {
      expect(floor.rgba[at * 4 + 3]).toBe(0);
      expect(floor.rgba[((SIZE_PX - 1) * SIZE_PX + at) * 4 + 3]).toBe(0);
    }
  });

  it('show a rough sphere close to its chip where it faces the light, and whites that are not clipped', async () => {
    const look = async (colour: readonly [number, number, number]) => {
      const kit = await writeFinishGlb(colour, 0.9);
      const { rgba } = await renderer.takeSphere({ key: colour.join(), kit, sizePx: 96, ground: 'white' });
      const at = (48 * 96 + 48) * 4;
      return [...rgba.slice(at, at + 3)];
    };
    // Linear 0.0284, 0.1095, 0.1714 is #2f5d73.
    const [red, green, blue] = await look([0.0284, 0.1095, 0.1714]);
    for (const [shown, chip] of [
      [red, 0x2f],
      [green, 0x5d],
      [blue, 0x73],
    ] as const) {
      expect(Math.abs(shown! - chip)).toBeLessThan(26);
    }
    const white = await look([0.9, 0.9, 0.9]);
    expect(Math.max(...white)).toBeLessThan(252);
    expect(Math.min(...white)).toBeGreaterThan(225);
    expect(Math.max(...(await look([0.01, 0.01, 0.01])))).toBeLessThan(60);
  }, 60_000);

  function getBox({ rgba }: RawPicture) {
    const box = { left: SIZE_PX, right: 0, top: SIZE_PX, bottom: 0 };
    for (let y = 0; y < SIZE_PX; y++) {
      for (let x = 0; x < SIZE_PX; x++) {
        if (rgba[(y * SIZE_PX + x) * 4 + 3]! < 128) continue;
        box.left = Math.min(box.left, x);
        box.right = Math.max(box.right, x + 1);
        box.top = Math.min(box.top, y);
        box.bottom = Math.max(box.bottom, y + 1);
      }
    }
    return {
      width: box.right - box.left,
      height: box.bottom - box.top,
      centreX: (box.left + box.right) / 2,
      centreY: (box.top + box.bottom) / 2,
    };
  }

  /** Black pixels with partial coverage. */
  function countShadow({ rgba }: RawPicture): number {
    let count = 0;
    for (let at = 0; at < rgba.length; at += 4) {
      const alpha = rgba[at + 3]!;
      if (alpha > 8 && alpha < 250 && rgba[at]! + rgba[at + 1]! + rgba[at + 2]! === 0) count++;
    }
    return count;
  }
});
