import { execFileSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Document } from '@gltf-transform/core';
import { KHRMaterialsVariants } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { Box3, type Mesh, type MeshPhysicalMaterial } from 'three';
import { USDLoader } from 'three/addons/loaders/USDLoader.js';
import { afterAll, describe, expect, it } from 'vitest';
import type { UsdContent, UsdRequest } from '../../../../server/core/delivery/usd-form.ts';
import { writeUsd } from '../../../../server/gltf/usd/write-usd.ts';
import { addPart, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { editGlb, readGlb } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { measureInThree } from '../../../support/measure-in-three.ts';
import { bindAll, findPrim, readPackage, readSurface, readUsda, type UsdPrim } from '../../../support/read-usd.ts';
import { readZip } from '../../../support/read-zip.ts';
import { makeRichModel } from '../../../support/rich-model.ts';
import { createSplicer } from '../../../support/splice.ts';

// Checked against the OpenUSD documentation: "UsdPreviewSurface specification" (inputs, textures, primvar readers), "Usdz file
// format specification" (zip without compression, 64-byte alignment, default layer first) and "Variants" (a selection on the prim
// itself is stronger than one in a variant). Read back with the system's unzip, yauzl, three's USDLoader and the tests' own parser.

const splicer = createSplicer();
const io = await createIo();
const folder = await mkdtemp(join(tmpdir(), 'dyeworks-usd-'));
afterAll(async () => {
  await splicer.close();
  await rm(folder, { recursive: true, force: true });
});

let files = 0;
const FIRST: UsdContent = { kind: 'variant', variant: 0 };

async function convert(glb: Uint8Array, content: UsdContent = FIRST, given: Partial<UsdRequest> = {}) {
  const path = join(folder, `${files++}.glb`);
  const targetPath = `${path}.usdz`;
  await writeFile(path, glb);
  const written = await writeUsd({ path, targetPath, content, title: 'Chair', mount: 'floor', ...given });
  const file = await readFile(targetPath);
  const packaged = readPackage(file);
  const layer = readUsda(packaged[0]!.bytes.toString());
  const meshes = [...findPrim(layer, '/Product/Geometry').children.values()];
  return { path: targetPath, written, file, packaged, layer, meshes };
}

type Converted = Awaited<ReturnType<typeof convert>>;

const surfaceOf = ({ layer }: Converted, mesh: UsdPrim) =>
  readSurface(layer, String(mesh.properties.get('material:binding')).slice(1, -1));

async function readTexture({ packaged }: Converted, map: unknown) {
  const [name] = String(map).split(':');
  const { bytes } = packaged.find((file) => file.name === name)!;
  const { data, info } = await sharp(bytes).raw().toBuffer({ resolveWithObject: true });
  return { data, channels: info.channels, width: info.width, height: info.height };
}

/** sRGB by IEC 61966-2-1. */
const toLight = (code: number) => (code / 255 <= 0.04045 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4);

async function makePart(change: (document: Document) => void | Promise<void>): Promise<Uint8Array> {
  const document = createDocument();
  await change(document);
  return io.writeBinary(document);
}

const flat = (value: unknown) => (value as number[][]).flat();

describe('a package', () => {
  it('is a zip without compression, aligned to 64 bytes, with its layer first; unzip and yauzl read it', async () => {
    const { path, file, packaged, written } = await convert(await io.writeBinary(await makeRichModel()));
    expect(written.bytes).toBe(file.length);
    expect(packaged.map(({ name }) => name)).toEqual(['product.usda', 'textures/1.png']);
    for (const { method, flags, start } of packaged) expect([method, flags, start % 64]).toEqual([0, 0, 0]);
    expect(execFileSync('unzip', ['-t', path]).toString()).toContain('No errors detected');
    const read = await readZip(file);
    for (const { name, bytes } of packaged) expect(read.get(name)!.equals(bytes), name).toBe(true);
  });

  it('has the same bytes every time', async () => {
    const glb = await io.writeBinary(await makeRichModel());
    const [one, other] = [await convert(glb), await convert(glb)];
    expect(other.file.equals(one.file)).toBe(true);
    expect(other.written.sha256).toBe(one.written.sha256);
  });

  it('has legal and unique names from names that are neither', async () => {
    const names = ['Séat "1"', '1/2', '椅子', 'a}{\n#usda', 'A}{#usda', '', '../../x', '\ud800'];
    const glb = await makePart((document) => {
      for (const [i, name] of names.entries())
        addPart(document, { name, material: document.createMaterial(name), size: i + 1 });
    });
    const made = await convert(glb, FIRST, { title: 'A "chair"\n}\\ \u0000#usda 1.0' });
    expect(made.meshes).toHaveLength(names.length);
    const all = [...made.meshes.map(({ name }) => name), ...findPrim(made.layer, '/Product/Materials').children.keys()];
    for (const name of all) expect(name).toMatch(/^[A-Za-z_][A-Za-z0-9_]*$/);
    expect(new Set(made.meshes.map(({ name }) => name.toLowerCase())).size).toBe(names.length);
    expect(findPrim(made.layer, '/Product').metadata.displayName).toBe('A "chair" }\\  #usda 1.0');
  });
});

describe('geometry', () => {
  it('stands on the floor in metres, in its pose, with the size that three.js measures in the GLB', async () => {
    const glb = await io.writeBinary(await makeRichModel());
    const { layer, written, file } = await convert(glb);
    expect(layer.metadata).toEqual({ defaultPrim: 'Product', metersPerUnit: 1, upAxis: 'Y' });
    // three counts vertices that no instance of EXT_mesh_gpu_instancing moves, so only the others are compared
    const expected = await measureInThree(glb);
    const group = new USDLoader().parse(bare(file));
    const box = new Box3().setFromObject(group, true);
    expect(box.min.y).toBeCloseTo(0, 6);
    expect(box.max.y - box.min.y).toBeCloseTo(expected.max[1]! - expected.min[1]!, 5);
    expect(box.max.x - box.min.x).toBeCloseTo(expected.max[0]! - expected.min[0]!, 5);
    expect(written.box.min[1]).toBe(0);
    expect(written.losses).toContainEqual({ code: 'pose', materials: [] });
  });

  it('shows the front of each triangle on the side of its normals, mirrored parts included', async () => {
    const { meshes } = await convert(await io.writeBinary(await makeRichModel()));
    for (const { name, properties } of meshes) {
      const points = properties.get('points') as number[][];
      const normals = properties.get('normals') as number[][];
      const indices = properties.get('faceVertexIndices') as number[];
      const edge = (a: number, b: number) =>
        points[b]!.map((value, i) => value - points[a]![i]!) as [number, number, number];
      const [a, b, c] = [indices[0]!, indices[1]!, indices[2]!];
      const [u, v] = [edge(a, b), edge(a, c)];
      const front = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      expect(
        front.reduce((sum, value, i) => sum + value * normals[a]![i]!, 0),
        name,
      ).toBeGreaterThan(0);
    }
  });

  it.each([
    ['floor', [1, 'min']],
    ['table', [1, 'min']],
    ['ceiling', [1, 'max']],
    ['wall', [2, 'min']],
  ] as const)('touches its surface at 0 on a %s', async (mount, [axis, end]) => {
    const glb = await makePart((document) => {
      addPart(document, { name: 'Shade', material: null });
      document.getRoot().listNodes()[0]!.setTranslation([7, 3, 5]);
    });
    const { meshes, written } = await convert(glb, FIRST, { mount });
    const [min, max] = meshes[0]!.properties.get('extent') as [number[], number[]];
    expect({ min, max }[end][axis]).toBeCloseTo(0, 6);
    // the origin was outside of it, so it stands in the middle
    expect(min[0]! + max[0]!).toBeCloseTo(0, 5);
    expect(written.box[end][axis]).toBe(0);
  });

  it.each([
    ['strips', 5, [0, 1, 2, 3], [0, 1, 2, 1, 3, 2]],
    ['fans', 6, [0, 1, 2, 3], [1, 2, 0, 2, 3, 0]],
    ['triangles out of range', 4, [0, 1, 2, 0, 1, 99], [0, 1, 2]],
  ])('reads %s', async (_, mode, given, expected) => {
    const { meshes } = await convert(await makeQuad(mode, given));
    expect(meshes[0]!.properties.get('faceVertexIndices')).toEqual(expected);
  });

  it('reads lines and points', async () => {
    const lines = await convert(await makeQuad(2, [0, 1, 3]));
    expect(lines.meshes[0]!.type).toBe('BasisCurves');
    expect(lines.meshes[0]!.properties.get('curveVertexCounts')).toEqual([2, 2, 2]);
    const points = await convert(await makeQuad(0, [0, 3]));
    expect(points.meshes[0]!.type).toBe('Points');
    expect(points.meshes[0]!.properties.get('points')).toHaveLength(2);
  });

  it('makes triangles without normals flat', async () => {
    const { meshes } = await convert(
      editGlb(await makeQuad(4, [0, 1, 2, 1, 3, 2]), (json) => {
        delete json.meshes![0]!.primitives[0]!.attributes.NORMAL;
      }),
    );
    expect(meshes[0]!.properties.get('points')).toHaveLength(6);
    for (const normal of meshes[0]!.properties.get('normals') as number[][]) expect(normal).toEqual([0, 1, 0]);
  });

  it.each(['KHR_draco_mesh_compression', 'EXT_meshopt_compression'])('is decoded from %s', async (name) => {
    const document = createDocument();
    addPart(document, { name: 'Seat', material: null, cells: 8 });
    const plain = await convert(await io.writeBinary(document));
    const { KHRDracoMeshCompression, EXTMeshoptCompression } = await import('@gltf-transform/extensions');
    if (name.startsWith('KHR')) document.createExtension(KHRDracoMeshCompression).setRequired(true);
    else document.createExtension(EXTMeshoptCompression).setRequired(true);
    const { written, meshes } = await convert(await io.writeBinary(document));
    expect(written.triangles).toBe(plain.written.triangles);
    const [low, high] = meshes[0]!.properties.get('extent') as number[][];
    const [wasLow, wasHigh] = plain.meshes[0]!.properties.get('extent') as number[][];
    for (const axis of [0, 1, 2]) {
      expect(low![axis]).toBeCloseTo(wasLow![axis]!, 3);
      expect(high![axis]).toBeCloseTo(wasHigh![axis]!, 3);
    }
  });
});

/** A square of four corners in the XZ plane, facing up. */
function makeQuad(mode: number, indices: number[]): Promise<Uint8Array> {
  return makePart((document) => {
    const mesh = addPart(document, { name: 'Quad', material: null, cells: 1 });
    const primitive = mesh.listPrimitives()[0]!;
    const up = [0, 0, 0, 0, 0, 1, 1, 0, 0, 1, 0, 1];
    primitive.getAttribute('POSITION')!.setArray(new Float32Array(up));
    primitive.getIndices()!.setArray(new Uint16Array(indices));
    primitive.setMode(mode as 4);
  });
}

/** The package without textures, which cannot be decoded here. */
function bare(file: Buffer): ArrayBuffer {
  const text = readPackage(file)[0]!
    .bytes.toString()
    .replace(/^\s*(color3f|float|normal3f) inputs:\w+\.connect = .*\n/gm, '');
  return new TextEncoder().encode(text).buffer as ArrayBuffer;
}

describe('a material', () => {
  it('has the colour, roughness and metalness of the GLB, also as three.js reads them', async () => {
    const glb = await makePart((document) => {
      const material = document.createMaterial('Steel').setBaseColorFactor([0.2, 0.4, 0.6, 1]);
      addPart(document, { name: 'Frame', material: material.setMetallicFactor(0.9).setRoughnessFactor(0.35) });
    });
    const made = await convert(glb);
    expect(surfaceOf(made, made.meshes[0]!)).toEqual({
      useSpecularWorkflow: 0,
      diffuseColor: [0.2, 0.4, 0.6],
      metallic: 0.9,
      roughness: 0.35,
      ior: 1.5,
    });
    let shown: MeshPhysicalMaterial | null = null;
    new USDLoader().parse(bare(made.file)).traverse((object) => {
      if ((object as Mesh).isMesh) shown = (object as Mesh).material as MeshPhysicalMaterial;
    });
    const { color, roughness, metalness } = shown!;
    // three keeps colours as linear light, as the GLB does
    expect(color.toArray().map((value) => Number(value.toFixed(4)))).toEqual([0.2, 0.4, 0.6]);
    expect([roughness, metalness]).toEqual([0.35, 0.9]);
  });

  it('has factors baked into its maps, and the same file where there is nothing to bake', async () => {
    const [colour, data] = [await makeNoisePng(1, 16), await makeNoisePng(2, 16)];
    const glb = await makePart((document) => {
      const texture = (bytes: Uint8Array) =>
        document
          .createTexture()
          .setMimeType('image/png')
          .setImage(bytes as Uint8Array<ArrayBuffer>);
      const [one, other] = [texture(colour), texture(data)];
      const plain = document
        .createMaterial('Plain')
        .setBaseColorTexture(one)
        .setRoughnessFactor(1)
        .setMetallicFactor(1);
      const tinted = document.createMaterial('Tinted').setBaseColorTexture(one).setBaseColorFactor([0.5, 0.25, 1, 1]);
      tinted
        .setMetallicRoughnessTexture(other)
        .setRoughnessFactor(0.5)
        .setMetallicFactor(0)
        .setNormalTexture(other)
        .setNormalScale(0.5);
      tinted.setOcclusionTexture(other).setOcclusionStrength(0.5);
      addPart(document, { name: 'Plain', material: plain });
      addPart(document, { name: 'Tinted', material: tinted });
    });
    const made = await convert(glb);
    const [plain, tinted] = ['Plain', 'Tinted'].map((name) =>
      surfaceOf(made, made.meshes.find((mesh) => mesh.name === name)!),
    );
    expect(
      made.packaged.find(({ name }) => `${name}:rgb` === plain!.diffuseColor)!.bytes.equals(Buffer.from(colour)),
    ).toBe(true);
    const source = { colour: await sharp(colour).raw().toBuffer(), data: await sharp(data).raw().toBuffer() };
    const baked = await readTexture(made, tinted!.diffuseColor);
    for (let at = 0; at < baked.data.length; at += 3) {
      [0.5, 0.25, 1].forEach((factor, c) => {
        expect(Math.abs(toLight(baked.data[at + c]!) - toLight(source.colour[at + c]!) * factor)).toBeLessThan(0.005);
      });
    }
    expect([tinted!.roughness, tinted!.metallic, tinted!.occlusion].map((map) => String(map).split(':')[0])).toEqual(
      Array(3).fill(String(tinted!.roughness).split(':')[0]),
    );
    const packed = await readTexture(made, tinted!.roughness);
    for (let at = 0; at < packed.data.length; at += 3) {
      expect(packed.data[at]! / 255).toBeCloseTo(0.5 + (0.5 * source.data[at]!) / 255, 2);
      expect(packed.data[at + 1]! / 255).toBeCloseTo((0.5 * source.data[at + 1]!) / 255, 2);
      expect(packed.data[at + 2]).toBe(0);
    }
    const normals = await readTexture(made, tinted!.normal);
    const [x, y, z] = [0, 1, 2].map((c) => normals.data[c]! / 127.5 - 1);
    expect(Math.hypot(x!, y!, z!)).toBeCloseTo(1, 1);
    expect(x! / z!).toBeCloseTo((0.5 * (source.data[0]! / 127.5 - 1)) / (source.data[2]! / 127.5 - 1), 0);
  });

  it('has no texture above 2048 pixels, and only PNG and JPEG', async () => {
    const large = await sharp({ create: { width: 4096, height: 1024, channels: 3, background: '#336699' } })
      .webp()
      .toBuffer();
    const glb = await makePart(async (document) => {
      const { EXTTextureWebP } = await import('@gltf-transform/extensions');
      document.createExtension(EXTTextureWebP).setRequired(true);
      const texture = document
        .createTexture()
        .setMimeType('image/webp')
        .setImage(large as unknown as Uint8Array<ArrayBuffer>);
      addPart(document, { name: 'Seat', material: document.createMaterial('Cloth').setBaseColorTexture(texture) });
    });
    const made = await convert(glb);
    const { width, height, data } = await readTexture(made, surfaceOf(made, made.meshes[0]!).diffuseColor);
    expect([width, height]).toEqual([2048, 512]);
    for (const [c, code] of [0x33, 0x66, 0x99].entries()) expect(Math.abs(data[c]! - code)).toBeLessThan(3);
    expect(made.packaged[1]!.name).toMatch(/\.(png|jpg)$/);
    expect(made.written.losses).toEqual([{ code: 'reduced-map', materials: ['Cloth'] }]);
  });

  it('lays its maps where the GLB does, without a transform of the texture', async () => {
    const png = await makeNoisePng(1, 16);
    const [offset, rotation, scale] = [[0.1, 0.2], Math.PI / 6, [2, 3]] as const;
    const glb = editGlb(
      await makePart((document) => {
        const texture = document
          .createTexture()
          .setMimeType('image/png')
          .setImage(png as Uint8Array<ArrayBuffer>);
        addPart(document, {
          name: 'Seat',
          material: document.createMaterial('Cloth').setBaseColorTexture(texture).setNormalTexture(texture),
        });
      }),
      (json) => {
        json.extensionsUsed = ['KHR_texture_transform'];
        json.materials![0]!.pbrMetallicRoughness!.baseColorTexture!.extensions = {
          KHR_texture_transform: { offset, rotation, scale },
        };
      },
    );
    const { meshes, packaged, layer } = await convert(glb);
    expect(packaged[0]!.bytes.toString()).not.toContain('UsdTransform2d');
    // glTF turns v downwards: KHR_texture_transform multiplies offset × rotation × scale
    const place = ([u, v]: readonly number[]) => {
      const [su, sv] = [u! * scale[0], v! * scale[1]];
      return [
        Math.cos(rotation) * su + Math.sin(rotation) * sv + offset[0],
        -Math.sin(rotation) * su + Math.cos(rotation) * sv + offset[1],
      ];
    };
    const st = meshes[0]!.properties.get('primvars:st') as number[][];
    const plain = meshes[0]!.properties.get('primvars:st1') as number[][];
    expect(meshes[0]!.interpolations.get('primvars:st')).toBe('vertex');
    st.forEach(([u, v], i) => {
      const [x, y] = place([plain[i]![0]!, 1 - plain[i]![1]!]);
      expect(u).toBeCloseTo(x!, 5);
      expect(1 - v!).toBeCloseTo(y!, 5);
    });
    const material = findPrim(layer, '/Product/Materials/Cloth');
    expect([...material.children.keys()]).toEqual(['Surface', 'Reader_st', 'Reader_st1', 'Map_1', 'Map_2']);
    const normal = material.children.get('Map_2')!.properties;
    expect([normal.get('inputs:scale'), normal.get('inputs:bias'), normal.get('inputs:sourceColorSpace')]).toEqual([
      [2, 2, 2, 1],
      [-1, -1, -1, 0],
      'raw',
    ]);
  });

  it('keeps cut-outs, blending, glow, coats, both sides and colours of vertices, and states what it loses', async () => {
    const png = await makeNoisePng(1, 16, true);
    const glb = editGlb(
      await makePart((document) => {
        const texture = document
          .createTexture()
          .setMimeType('image/png')
          .setImage(png as Uint8Array<ArrayBuffer>);
        const cane = document
          .createMaterial('Cane')
          .setBaseColorTexture(texture)
          .setAlphaMode('MASK')
          .setAlphaCutoff(0.3);
        addPart(document, { name: 'Cane', material: cane.setDoubleSided(true) });
        const glass = document.createMaterial('Glass').setAlphaMode('BLEND').setBaseColorFactor([1, 1, 1, 0.4]);
        addPart(document, { name: 'Glass', material: glass });
        addPart(document, { name: 'Opaque', material: document.createMaterial('Opaque').setBaseColorTexture(texture) });
        const lacquer = document
          .createMaterial('Lacquer')
          .setBaseColorFactor([0.5, 0.5, 0.5, 1])
          .setEmissiveFactor([0, 0.5, 1]);
        addPart(document, { name: 'Lacquer', material: lacquer, colours: true });
      }),
      (json) => {
        json.extensionsUsed = [
          'KHR_materials_clearcoat',
          'KHR_materials_ior',
          'KHR_materials_sheen',
          'KHR_materials_transmission',
        ];
        const byName = (name: string) => json.materials!.find((material) => material.name === name)!;
        byName('Lacquer').extensions = {
          KHR_materials_clearcoat: { clearcoatFactor: 0.8, clearcoatRoughnessFactor: 0.1 },
          KHR_materials_ior: { ior: 1.7 },
        };
        byName('Cane').extensions = { KHR_materials_sheen: { sheenColorFactor: [1, 1, 1] } };
        byName('Opaque').extensions = { KHR_materials_transmission: { transmissionFactor: 1 } };
      },
    );
    const made = await convert(glb);
    const find = (name: string) => made.meshes.find((mesh) => mesh.name === name)!;
    const cane = surfaceOf(made, find('Cane'));
    expect([cane.opacityThreshold, String(cane.opacity)]).toEqual([
      0.3,
      String(cane.diffuseColor).replace(':rgb', ':a'),
    ]);
    expect((await readTexture(made, cane.diffuseColor)).channels).toBe(4);
    expect([find('Cane'), find('Glass')].map(({ properties }) => properties.get('doubleSided'))).toEqual([1, 0]);
    expect(surfaceOf(made, find('Glass')).opacity).toBe(0.4);
    // an opaque surface has no alpha that a viewer could take for holes
    expect((await readTexture(made, surfaceOf(made, find('Opaque')).diffuseColor)).channels).toBe(3);
    const lacquer = surfaceOf(made, find('Lacquer'));
    expect(lacquer).toMatchObject({ diffuseColor: 'displayColor:result', emissiveColor: [0, 0.5, 1], ior: 1.7 });
    expect([lacquer.clearcoat, lacquer.clearcoatRoughness]).toEqual([0.8, 0.1]);
    const tints = flat(find('Lacquer').properties.get('primvars:displayColor'));
    expect(Math.max(...tints)).toBeLessThanOrEqual(0.5);
    expect(made.written.losses).toEqual([
      { code: 'sheen', materials: ['Cane'] },
      { code: 'transmission', materials: ['Opaque'] },
    ]);
  });
});

describe('a product', () => {
  const finishes = ['RED', 'BLUE', 'OAK', 'ASH'].map((name, i) =>
    makeFinish(name, { colour: { hex: `#${i + 2}0${9 - i}040` } }),
  );
  const pairs = [
    ['RED', 'OAK'],
    ['BLUE', 'OAK'],
    ['BLUE', 'ASH'],
  ] as const;

  async function makeProduct() {
    const model = await makePart((document) => {
      addPart(document, { name: 'Seat', material: document.createMaterial('Seat') });
      addPart(document, { name: 'Back', material: document.createMaterial('Seat') });
      addPart(document, { name: 'Legs', material: document.createMaterial('Legs') });
    });
    const { slots } = await splicer.splice(model);
    const [seat, back, legs] = slots.map(({ slot }) => slot);
    const rows = pairs.map(([on, under]) => ({ [seat!]: on, [back!]: on, [legs!]: under }));
    const { file } = await splicer.splice(model, { finishes, rows });
    const content: UsdContent = {
      kind: 'product',
      slots: slots.map(({ slot }) => slot),
      rows: rows.map((choices, i) => ({ code: `ROW-${i}`, choices })),
      first: 0,
    };
    return { file, content, names: [seat!, back!, legs!] };
  }

  it('has a variant set for each slot and one for the rows, which agree with the GLB, and slots switch by themselves', async () => {
    const { file, content } = await makeProduct();
    const { layer, written } = await convert(file, content);
    const [rows, ...slots] = written.sets;
    expect(findPrim(layer, '/Product').metadata.variantSets).toEqual(written.sets.map(({ set }) => set));
    expect([rows!.slot, rows!.variants]).toEqual([null, { 'ROW-0': 'ROW_0', 'ROW-1': 'ROW_1', 'ROW-2': 'ROW_2' }]);
    expect(slots.map(({ variants }) => Object.keys(variants))).toEqual([
      ['RED', 'BLUE'],
      ['RED', 'BLUE'],
      ['OAK', 'ASH'],
    ]);
    const { json } = readGlb(file);
    for (const [row] of pairs.entries()) {
      const bound = bindAll(layer, { [rows!.set]: `ROW_${row}` });
      for (const node of json.nodes!.filter(({ mesh }) => mesh !== undefined)) {
        const primitive = json.meshes![node.mesh!]!.primitives[0]!;
        const mappings = primitive.extensions!.KHR_materials_variants!.mappings as {
          material: number;
          variants: number[];
        }[];
        const material = json.materials![mappings.find(({ variants }) => variants.includes(row))!.material]!;
        const surface = readSurface(layer, String(bound[node.name!]).slice(1, -1));
        const [r, g, b] = material.pbrMetallicRoughness!.baseColorFactor!;
        expect(surface.diffuseColor).toEqual([r!, g!, b!].map((value) => Number(value.toPrecision(7))));
      }
    }
    // a selection on the product wins over the row's, and changes no other slot
    const first = bindAll(layer);
    const changed = bindAll(layer, { [slots[2]!.set]: 'ASH' });
    expect(changed).toEqual({ ...first, Legs: bindAll(layer, { [rows!.set]: 'ROW_2' }).Legs });
    expect(changed.Legs).not.toBe(first.Legs);
  });

  it('of one variant has the same materials as that row of the product', async () => {
    const { file, content } = await makeProduct();
    const product = await convert(file, content);
    for (const [row] of pairs.entries()) {
      const one = await convert(file, { kind: 'variant', variant: row });
      const bound = bindAll(product.layer, { schedule: `ROW_${row}` });
      expect(one.written.sets).toEqual([]);
      for (const mesh of one.meshes)
        expect(surfaceOf(one, mesh)).toEqual(readSurface(product.layer, String(bound[mesh.name]).slice(1, -1)));
    }
  });

  it('names what no single slot decides', async () => {
    const document = createDocument();
    const mesh = addPart(document, { name: 'Seat', material: document.createMaterial('A') });
    const variants = document.createExtension(KHRMaterialsVariants);
    const list = variants.createMappingList();
    for (const name of ['V0', 'V1']) {
      const mapping = variants.createMapping().setMaterial(document.createMaterial(name));
      list.addMapping(mapping.addVariant(variants.createVariant(name)));
    }
    mesh.listPrimitives()[0]!.setExtension('KHR_materials_variants', list);
    const rows = ['ROW-0', 'ROW-1'].map((code) => ({ code, choices: { seat: 'RED' } }));
    const { written, meshes } = await convert(await io.writeBinary(document), {
      kind: 'product',
      slots: ['seat'],
      rows,
      first: 1,
    });
    expect(written.losses).toEqual([{ code: 'mixed-slots', materials: [] }]);
    expect(meshes[0]!.properties.get('material:binding')).toBe('</Product/Materials/V1>');
  });
});
