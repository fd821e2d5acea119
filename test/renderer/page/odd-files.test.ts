import { MeshoptEncoder } from 'meshoptimizer';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createRenderer } from '../../../renderer/create-renderer.ts';
import type { AssignedMaterial, Renderer } from '../../../server/core/ports/renderer.ts';
import type { GltfJson } from '../../../server/gltf/document/json.ts';
import { TRIANGLE_BIN, triangleGlb } from '../../support/bad-models.ts';
import { editGlb, makeGlb, readGlb } from '../../support/glb.ts';
import { indexedTriangle, listOddModels, makeRichModels } from '../../support/odd-models.ts';
import { createRandom } from '../../support/random.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from '../built-studio.ts';
import { createModelFolder } from '../models.ts';

describe('a picture of a faulty file', () => {
  const models = createModelFolder();
  let studioFolder: string;
  let renderer: Renderer;
  let rich: Record<string, Buffer>;
  let remarks: string[] = [];
  let count = 0;

  beforeAll(async () => {
    studioFolder = await buildStudio();
    rich = await makeRichModels();
    renderer = createRenderer({
      browserPath: findBrowser(),
      studioFolder,
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      log: (_, details) => remarks.push(...((details?.remarks as string[] | undefined) ?? [])),
    });
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    models.remove();
  });

  /** The pixels, or the code of the refusal. */
  async function take(glb: Uint8Array, assignments: readonly AssignedMaterial[] = []): Promise<string> {
    remarks = [];
    const size = { widthPx: 32, heightPx: 32, ground: 'white', quality: 'draft' } as const;
    const file = models.write(`odd ${count++}`, glb);
    try {
      const { rgba } = await renderer.takeProduct({
        file,
        assignments,
        view: 'three-quarter',
        mount: 'floor',
        ...size,
      });
      return Buffer.from(rgba).toString('base64');
    } catch (error) {
      return (error as { code?: string }).code ?? String(error);
    }
  }

  const NOTHING = ['empty scene', 'no nodes', 'no primitives', 'points', 'lines', 'nothing at all', 'no buffers'];
  const REFUSED: Readonly<Record<string, string>> = {
    ...Object.fromEntries(NOTHING.map((name) => [name, 'picture-nothing-to-see'])),
    'NaN position': 'picture-nothing-to-see',
    'all positions NaN': 'picture-nothing-to-see',
    'infinite position': 'picture-nothing-to-see',
    'indices out of range': 'picture-nothing-to-see',
    'two indices': 'picture-nothing-to-see',
    'no vertices': 'picture-geometry-unreadable',
    'no attributes': 'picture-geometry-unreadable',
    'unreadable meshopt': 'picture-geometry-unreadable',
  };

  it('is taken, or refused with a code about the file', { timeout: 240_000 }, async () => {
    const found: Record<string, string> = {};
    const expected: Record<string, string> = {};
    for (const [name, glb] of Object.entries(listOddModels())) {
      const taken = await take(glb);
      found[name] = isPicture(taken) ? 'taken' : taken;
      expected[name] = REFUSED[name] ?? 'taken';
    }
    expect(found).toEqual(expected);
  });

  const BROKEN: readonly [what: string, edit: (json: Record<string, unknown>) => void][] = [
    [
      'animation channels without a target',
      (json) => (json.animations = [{ channels: [{ sampler: 3 }], samplers: 5 }, null]),
    ],
    [
      'lights by number without a list',
      (json) => {
        json.extensionsUsed = ['KHR_lights_punctual'];
        (json.nodes as object[]).push({ extensions: { KHR_lights_punctual: { light: 0 } } });
        json.scenes = [{ nodes: [0, 1] }];
      },
    ],
    ['names that are not text', (json) => Object.assign((json.nodes as object[])[0]!, { name: 7 })],
    ['names that are objects', (json) => Object.assign((json.materials as object[])[0]!, { name: { de: 'Sitz' } })],
    ['invalid cameras', (json) => Object.assign(json, { cameras: [{}] })],
    ['unknown required extensions', (json) => Object.assign(json, { extensionsRequired: ['ACME_x'] })],
    [
      'a skin with missing joints',
      (json) => {
        json.skins = [{ joints: [99] }];
        Object.assign((json.nodes as object[])[0]!, { skin: 0 });
      },
    ],
    [
      'a missing colour map',
      (json) => {
        json.materials = [{ pbrMetallicRoughness: { baseColorTexture: { index: 4 } } }];
      },
    ],
  ];

  it.each(BROKEN)('equals that of the sound file: %s', { timeout: 60_000 }, async (_, edit) => {
    const sound = await take(triangleGlb());
    expect(isPicture(sound)).toBe(true);
    expect(await take(editGlb(triangleGlb(), (json) => edit(json as unknown as Record<string, unknown>)))).toBe(sound);
  });

  it('leaves out a map that cannot be decoded, and reports it', { timeout: 60_000 }, async () => {
    const odd = listOddModels()['image that is none']!;
    const without = editGlb(odd, (json) => (json.materials = [{ name: 'Seat' }]));
    const taken = await take(odd);
    // remarks may come after the pixels
    await expect
      .poll(() => remarks.join(), { timeout: 10_000 })
      .toContain('Left out texture 0: An image cannot be decoded.');
    expect(taken).toBe(await take(without));
    // KTX2 by its extension, but only the first bytes of one.
    const ktx2 = editGlb(
      odd,
      (json) => (json.textures = [{ extensions: { KHR_texture_basisu: { source: 0 } } } as never]),
    );
    expect(await take(ktx2)).toBe(await take(without));
    expect(isPicture(await take(odd, [{ mesh: 0, primitive: 0, material: 0 }]))).toBe(true);
  });

  it('reads geometry packed by Draco, and draws the rest when one primitive is damaged', {
    timeout: 60_000,
  }, async () => {
    const whole = await take(rich.draco!);
    expect(isPicture(whole)).toBe(true);
    const { json, bin } = readGlb(rich.draco!);
    const packed = (at: number) =>
      json.meshes![at]!.primitives[0]!.extensions!.KHR_draco_mesh_compression as { bufferView: number };
    const { byteOffset = 0 } = json.bufferViews![packed(0).bufferView]!;
    const damaged = Buffer.from(bin);
    damaged.fill(0xff, byteOffset, byteOffset + 12);
    const taken = await take(makeGlb(json, damaged));
    await expect
      .poll(() => remarks.join(), { timeout: 10_000 })
      .toContain('primitive 0: Geometry compressed with Draco cannot be decoded.');
    expect(isPicture(taken)).toBe(true);
    expect(taken).not.toBe(whole);
    // The next file is not affected.
    expect(await take(rich.draco!)).toBe(whole);
  });

  it('reads geometry packed by meshopt', { timeout: 60_000 }, async () => {
    await MeshoptEncoder.ready;
    const packed = MeshoptEncoder.encodeGltfBuffer(new Uint8Array(TRIANGLE_BIN), 3, 12, 'ATTRIBUTES');
    const extension = { buffer: 0, byteLength: packed.length, byteStride: 12, count: 3, mode: 'ATTRIBUTES' };
    const view = { buffer: 1, byteLength: 36, extensions: { EXT_meshopt_compression: extension } };
    const glb = makeGlb(
      {
        ...readGlb(triangleGlb()).json,
        bufferViews: [view],
        buffers: [{ byteLength: packed.length }, { byteLength: 36 }],
      },
      packed,
    );
    expect(await take(glb)).toBe(await take(triangleGlb()));
  });

  it('does not draw triangles with indices out of range', { timeout: 60_000 }, async () => {
    expect(await take(indexedTriangle([0, 1, 2, 0, 1, 900]))).toBe(await take(triangleGlb()));
  });

  // Seeded, so that the same values are wrong on every machine.
  it('is never an internal error of the studio, whichever value is wrong', { timeout: 300_000 }, async () => {
    const random = createRandom(13);
    const values = [null, true, 'x', '0.5', [], {}, -1, 0.5, 3, 1e5, 4294967295, 1e30, 1e306, [0, 0], { index: 0 }];
    for (let run = 0; run < 48; run++) {
      const kind = random.pick(Object.keys(rich));
      let said = '';
      const glb = editGlb(rich[kind]!, (json) => {
        const places = listPlaces(json).filter(([, , path]) => !path.startsWith('asset'));
        const [holder, key, path] = random.pick(places);
        said = `${run} ${kind} ${path}`;
        if (random.next() < 0.3) delete holder[key];
        else holder[key] = structuredClone(random.pick(values));
        said += ` ${JSON.stringify(holder[key])}`;
      });
      const taken = await take(glb);
      const refused = !isPicture(taken) && !taken.startsWith('picture-');
      expect(refused ? `${said}: ${taken}` : 'in order').toBe('in order');
    }
  });
});

/** The pixels of the smallest picture here are longer than any code. */
const isPicture = (taken: string) => taken.length > 100;

type Holder = Record<string, unknown>;

/** Every property of a document, with its holder. */
function listPlaces(json: GltfJson): [holder: Holder, key: string, path: string][] {
  const found: [Holder, string, string][] = [];
  const walk = (holder: Holder, path: string) => {
    for (const key of Object.keys(holder)) {
      found.push([holder, key, `${path}${key}`]);
      const value = holder[key];
      if (typeof value === 'object' && value !== null) walk(value as Holder, `${path}${key}.`);
    }
  };
  walk(json as unknown as Holder, '');
  return found;
}
