import { validateString } from 'gltf-validator';
import { describe, expect, it } from 'vitest';
import { checkDamage } from '../../../../server/core/product/check-file.ts';
import type { Damage, Survey, SurveyedImage } from '../../../../server/core/product/survey.ts';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { mendJson } from '../../../../server/gltf/mend/read-model.ts';
import { triangleJson } from '../../../support/bad-models.ts';
import { check, findAll, makeGoodSurvey } from '../../../support/make-model-check.ts';

const strength = (index: number, given: Partial<Damage> = {}): Damage => ({
  code: 'damaged-value',
  place: `material “Oak ${index}”`,
  what: 'occlusion texture, strength',
  where: `/materials/${index}/occlusionTexture/strength`,
  seen: '7',
  expected: 'a number from 0 to 1',
  used: '1',
  ...given,
});

it('states the value found, the value expected and the replacement', () => {
  const [finding] = checkDamage({ damages: [strength(0)] });
  expect(finding).toMatchObject({ where: '/materials/0/occlusionTexture/strength', place: 'material “Oak 0”' });
  expect(finding!.message).toContain(
    'Material “Oak 0”: occlusion texture, strength is 7. Expected: a number from 0 to 1. Dyeworks uses 1 instead.',
  );
});

it('is one for one cause in many places, and names some of the places', () => {
  const found = checkDamage({ damages: Array.from({ length: 50 }, (_, index) => strength(index)) });
  expect(found).toHaveLength(1);
  expect(found[0]).toMatchObject({
    seen: 50,
    place: 'material “Oak 0”; material “Oak 1”; material “Oak 2” and 47 more',
  });
});

it('is separate for another property or another remedy', () => {
  const damages = [
    strength(0),
    strength(1, { what: 'normal texture, scale', where: '/materials/1/normalTexture/scale' }),
    strength(2, { used: null }),
    strength(3, { code: 'dangling-reference' }),
  ];
  expect(checkDamage({ damages })).toHaveLength(4);
});

type Message = Survey['validator']['messages'][number];

const OWN = '/materials/0/occlusionTexture/strength';
const outOfRange = (pointer: string): Message => ({
  code: 'VALUE_NOT_IN_RANGE',
  severity: 0,
  message: 'Out of range.',
  pointer,
});

function look(messages: readonly Message[], given: Partial<Survey> = {}, errors = messages.length) {
  const survey = makeGoodSurvey();
  return findAll(check({ ...survey, ...given, validator: { ...survey.validator, errors, messages } }), 'validator');
}

it('replaces the validator’s errors about the same places', () => {
  const damages = [strength(0)];
  expect(look([outOfRange(OWN)], { damages })).toEqual([]);
  expect(look([outOfRange(OWN), outOfRange(`${OWN}s`)], { damages })).toMatchObject([{ seen: 1 }]);
});

it('counts no errors beyond the stored ones if all of those are settled', () => {
  const damages = Array.from({ length: 300 }, (_, index) => strength(index));
  const messages = damages.slice(0, 100).map(({ where }) => outOfRange(where));
  expect(look(messages, { damages }, 300)).toEqual([]);
  const [finding] = look([...messages.slice(1), outOfRange('/nodes/0/name')], { damages }, 300);
  expect(finding).toMatchObject({ seen: 1, where: '/nodes/0/name' });
  expect(finding!.message).toContain('at least 1 error.');
  expect(
    look(
      messages.map(({ pointer }) => outOfRange(`${pointer}s`)),
      { damages },
      300,
    ),
  ).toMatchObject([{ seen: 300 }]);
});

// The Khronos validator's own messages about such files, and the damage found on reading them.
describe('an error that the validator reports in another place than the finding', () => {
  const read = async (more: Record<string, unknown>) => {
    const meshes = [{ primitives: [{ attributes: { POSITION: 0, TEXCOORD_0: 0 }, material: 0 }] }];
    const document = triangleJson({ meshes, ...more });
    const report = (await validateString(JSON.stringify(document), {
      ignoredIssues: ['IO_ERROR', 'BUFFER_MISSING_GLB_DATA', 'MESH_PRIMITIVE_ATTRIBUTES_ACCESSOR_INVALID_FORMAT'],
    })) as { issues: { messages: Message[] } };
    const { damages } = mendJson(document as unknown as GltfJson);
    return { damages, messages: report.issues.messages.filter(({ severity }) => severity === 0) };
  };
  const image = (bytes: string, mimeType: string) => ({
    textures: [{ source: 0 }],
    images: [{ uri: `data:${mimeType};base64,${Buffer.from(bytes, 'latin1').toString('base64')}`, mimeType }],
  });
  const PNG = image('\x89PNG\r\n\x1a\n', 'image/png');
  const UNDECLARED = { materials: [{ extensions: { KHR_materials_unlit: {} } }] };

  it('a missing UV set', async () => {
    const lacking = { index: 0, texCoord: 3 };
    const moved = { index: 0, extensions: { KHR_texture_transform: { texCoord: 2 } } };
    const materials = [{ occlusionTexture: lacking, emissiveTexture: moved }];
    const file = await read({ ...image('GIF89a', 'image/gif'), materials, extensionsUsed: ['KHR_texture_transform'] });
    const messages = file.messages.filter(({ code }) => code === 'MESH_PRIMITIVE_TOO_FEW_TEXCOORDS');
    expect(messages).toHaveLength(2);
    expect(look(messages, { damages: file.damages })).toEqual([]);
    expect(look(messages, { damages: file.damages.slice(1) })).toMatchObject([{ seen: 1 }]);
  });

  it('an undeclared extension, but not one that is missing elsewhere too', async () => {
    const { damages, messages } = await read(UNDECLARED);
    expect(messages.map(({ code }) => code)).toEqual(['UNDECLARED_EXTENSION']);
    expect(look(messages, { damages })).toEqual([]);
    const other = await read({ materials: [{ extensions: { KHR_materials_unlit: {}, EXT_nobody_knows: {} } }] });
    expect(look(other.messages, { damages: other.damages })).toMatchObject([
      { seen: 1, where: '/materials/0/extensions/EXT_nobody_knows' },
    ]);
  });

  it('an image that cannot be decoded, or is named in the wrong place', async () => {
    const ktx2 = image(`\xabKTX 20\xbb\r\n\x1a\n${'\0'.repeat(80)}`, 'image/ktx2');
    const cut = await read({ ...PNG, materials: [{ emissiveTexture: { index: 0 } }] });
    const misplaced = await read({ ...ktx2, materials: [{ emissiveTexture: { index: 0 } }] });
    const show = ({ messages }: typeof cut, given: Partial<SurveyedImage>) => {
      const { images } = makeGoodSurvey();
      return look(messages, { images: [{ ...images[0]!, ...given }, images[1]!] });
    };
    expect(cut.messages.every(({ pointer }) => pointer.startsWith('/images/0'))).toBe(true);
    expect(show(cut, { undecodable: 'it ends too early' })).toEqual([]);
    expect(misplaced.messages.map(({ code }) => code)).toContain('TEXTURE_INVALID_IMAGE_MIME_TYPE');
    expect(show(misplaced, { misplaced: true })).toEqual([]);
    for (const file of [cut, misplaced]) expect(show(file, {})).toMatchObject([{ seen: file.messages.length }]);
  });
});
