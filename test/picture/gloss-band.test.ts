import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { GLOSS_DEGREES } from '../../renderer/page/change-shaders.ts';
import { getRadiance, KEY_DIRECTION, SOFTBOXES } from '../../renderer/page/softboxes.ts';
import { LINEAR_CODES } from '../../server/core/colour/srgb.ts';
import { invertToneMapping } from '../../server/core/picture/invert-tone-mapping.ts';
import { planPanel } from '../../server/core/picture/swatch.ts';
import type { Renderer } from '../../server/core/ports/renderer.ts';
import { createModelFolder, writeFinishGlb } from '../renderer/models.ts';
import { openRenderer } from '../renderer/open-renderer.ts';

// ISO 2813 measures gloss at equal angles of light and view from upright: 20°, 60° for most finishes, 85°. The band of
// a panel swings the viewer to the mirror angle of the key light. Reflectance by Schlick's formula, from appendix B of
// glTF 2.0: F = F0 + (1 − F0)(1 − cos θ)⁵, F0 = 0.04 for a dielectric of index 1.5.

const SIZE_PX = 256;
const LAYOUT = planPanel(SIZE_PX, 100);

let renderer: Renderer;
const models = createModelFolder();
beforeAll(async () => {
  renderer = await openRenderer();
}, 120_000);
afterAll(async () => {
  await renderer?.close();
  models.remove();
});

let number = 0;

/** Light before the tone curve down the middle column of a grey panel, from the upper edge of its piece. */
async function takeColumn(grey: number, roughness: number): Promise<number[]> {
  const kit = await writeFinishGlb([grey, grey, grey], roughness);
  const shot = { key: `gloss ${number++}`, kit, kind: 'panel', light: 'studio', widthMm: 100 } as const;
  const { rgba } = await renderer.takeSwatch({ ...shot, sizePx: SIZE_PX, ground: 'transparent' });
  return Array.from({ length: LAYOUT.heightPx }, (_, row) => {
    const at = ((LAYOUT.top + row) * SIZE_PX + SIZE_PX / 2) * 4;
    const [r, g, b] = [0, 1, 2].map((channel) => Math.min(LINEAR_CODES[rgba[at + channel]!]!, 0.999));
    return invertToneMapping([r!, g!, b!])[0];
  });
}

const schlick = (degrees: number) => 0.04 + 0.96 * (1 - Math.cos((degrees * Math.PI) / 180)) ** 5;

describe('the band of a panel', () => {
  it('stands at the mirror angle of the key light, near the 60° of ISO 2813', () => {
    const { azimuthDegrees, elevationDegrees } = SOFTBOXES.find(({ name }) => name === 'key')!;
    // Spherical law of cosines: the angle between the light and upright.
    const toRadians = Math.PI / 180;
    const cosine = Math.cos(azimuthDegrees * toRadians) * Math.cos(elevationDegrees * toRadians);
    expect(GLOSS_DEGREES).toBeCloseTo(Math.acos(cosine) / toRadians, 6);
    expect(Math.abs(GLOSS_DEGREES - 60)).toBeLessThan(1);
  });

  it('shows the reflection in a polished black: the key light, with its Fresnel share', async () => {
    const column = await takeColumn(0, 0.05);
    const [middle, upright] = [column[Math.round(LAYOUT.glossPx / 2)]!, column[Math.round(LAYOUT.heightPx * 0.7)]!];
    const expected = (getRadiance(...KEY_DIRECTION) * schlick(GLOSS_DEGREES)) / (getRadiance(0, 0, 1) * schlick(0));
    // Upright it is a few levels of 255, and rounding takes a part.
    expect(middle / upright).toBeGreaterThan(expected * 0.8);
    expect(middle / upright).toBeLessThan(expected * 1.25);
  });

  it('distinguishes matt, satin and gloss: more gloss is brighter, with sharper edges', async () => {
    const columns: number[][] = [];
    for (const roughness of [0.05, 0.3, 0.5, 0.9]) columns.push(await takeColumn(0.1, roughness));
    const plain = columns.map((column) => column[Math.round(LAYOUT.heightPx * 0.7)]!);
    const peaks = columns.map((column, index) => Math.max(...column.slice(0, LAYOUT.glossPx)) - plain[index]!);
    const steps = columns.map((column) =>
      Math.max(...column.slice(1, LAYOUT.glossPx).map((value, row) => Math.abs(value - column[row]!))),
    );
    for (let index = 1; index < columns.length; index++) {
      expect(peaks[index]!).toBeLessThan(peaks[index - 1]! * 1.02);
      expect(steps[index]!).toBeLessThan(steps[index - 1]!);
    }
    // A gloss exceeds the body itself; a matt adds less than a seventh of it.
    expect(peaks[0]!).toBeGreaterThan(plain[0]!);
    expect(peaks[3]!).toBeLessThan(plain[3]! * 0.15);
  });

  it('leaves the rest of the panel in one colour', async () => {
    for (const roughness of [0.05, 0.5]) {
      const below = (await takeColumn(0.18, roughness)).slice(LAYOUT.glossPx);
      // A level of 255 is 0.004 here.
      expect(Math.max(...below) - Math.min(...below)).toBeLessThan(0.005);
    }
  });
});
