import { describe, expect, it } from 'vitest';
import { writeFinishDocument } from '../../../renderer/page/finish-document.ts';
import type { Finish } from '../../../server/core/finish/finish.ts';
import { FAMILIES } from '../../../server/core/finish/finish.ts';
import { resolveFinish } from '../../../server/core/finish/resolve-finish.ts';
import { writeFinishMaterial } from '../../../server/gltf/materials/finish-material.ts';
import { makeNoisePng } from '../../support/build-model.ts';
import { readGlb } from '../../support/glb.ts';
import { makeFinish } from '../../support/make-finish.ts';

const MAP = 'a'.repeat(64);
const OTHER = 'b'.repeat(64);
const PNG = { uri: 'http://here/map.png', mimeType: 'image/png' };

/** Defaults of glTF 2.0 and of KHR_texture_transform, which a writer may omit. */
const DEFAULTS: Readonly<Record<string, unknown>> = {
  baseColorFactor: [1, 1, 1, 1],
  metallicFactor: 1,
  roughnessFactor: 1,
  clearcoatRoughnessFactor: 0,
  iridescenceIor: 1.3,
  iridescenceThicknessMaximum: 400,
  specularFactor: 1,
  specularColorFactor: [1, 1, 1],
  anisotropyRotation: 0,
  scale: [1, 1],
};

/** Removes defaults and empty objects, rounds numbers to six digits, and keeps of a texture only that it exists. */
function level(value: unknown): unknown {
  if (typeof value === 'number') return Number(value.toPrecision(6));
  if (Array.isArray(value)) return value.map(level);
  if (typeof value !== 'object' || value === null) return value;
  const entries = Object.entries(value)
    .filter(([key]) => key !== 'index')
    .map(([key, child]) => [key, level(child)] as const)
    .filter(([key, child]) => !(key in DEFAULTS && JSON.stringify(child) === JSON.stringify(DEFAULTS[key])))
    .filter(([key, child]) => key.endsWith('Texture') || !isEmpty(child));
  return Object.fromEntries(entries);
}

function isEmpty(value: unknown): boolean {
  return typeof value === 'object' && value !== null && Object.keys(value).length === 0;
}

async function compare(finish: Finish): Promise<void> {
  // A delivered material has its finish's code as name; the shown one has its name.
  const resolved = resolveFinish({ ...finish, name: finish.finish }, null);
  const png = await makeNoisePng(4, 4);
  const kit = await writeFinishMaterial(resolved, async () => ({ bytes: png, mimeType: 'image/png' }));
  const written = writeFinishDocument(resolved, () => PNG);
  expect(level(written.materials[0])).toEqual(level(readGlb(kit).json.materials![0]));
}

describe('a finish shown before it is stored', () => {
  it.each(FAMILIES)('equals the delivered material of the family %s', async (family) => {
    await compare(makeFinish('A', { family }));
  });

  it('is the same with every property of a surface', async () => {
    await compare(
      makeFinish('B', {
        clearcoat: 0.7,
        clearcoatRoughness: 0.2,
        sheen: { colour: '#404040', roughness: 0.3 },
        specular: { factor: 0.5, colour: '#ffeedd' },
        anisotropy: { strength: 0.6, rotationDegrees: -30 },
        iridescence: { factor: 1, thicknessMaxNm: 300 },
        emissive: { colour: '#ffcc88', strength: 4 },
      }),
    );
    const volume = { thicknessMm: 8, attenuationColour: '#88ccaa', attenuationDistanceMm: 20 };
    await compare(
      makeFinish('C', { family: 'glass', ior: 1.6, volume, emissive: { colour: '#ffffff', strength: 0.5 } }),
    );
  });

  it.each([
    { widthMm: 80, heightMm: 80 },
    { widthMm: 80, heightMm: 80, grainDegrees: 37 },
    { widthMm: 120, heightMm: 240, grainDegrees: 100 },
    { widthMm: 1000, heightMm: 1000, grainDegrees: -90 },
  ])('has its maps at the size of %o', async (tile) => {
    const maps = { colour: MAP, normal: OTHER, roughness: MAP };
    await compare(makeFinish('D', { maps, tile, anisotropy: { strength: 0.5, rotationDegrees: 10 } }));
  });

  it('leaves out a map whose image is not known yet, and names the extension of its type', () => {
    const finish = resolveFinish(makeFinish('E', { maps: { colour: MAP, normal: OTHER } }), null);
    const webp = { uri: 'http://here/map.webp', mimeType: 'image/webp' };
    const written = writeFinishDocument(finish, (sha256) => (sha256 === MAP ? webp : undefined));
    expect(written.images).toEqual([webp]);
    expect(written.textures).toEqual([{ extensions: { EXT_texture_webp: { source: 0 } } }]);
    expect(written.materials[0]).not.toHaveProperty('normalTexture');
    expect(written.extensionsUsed).toEqual(expect.arrayContaining(['EXT_texture_webp', 'KHR_texture_transform']));
  });
});
