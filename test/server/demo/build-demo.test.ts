import { createHash } from 'node:crypto';
import { getBounds, NodeIO } from '@gltf-transform/core';
import { validateBytes } from 'gltf-validator';
import { beforeAll, describe, expect, test } from 'vitest';
import { toKey } from '../../../server/core/codes.ts';
import type { DemoPack } from '../../../server/demo/build-demo.ts';
import { buildDemo } from '../../../server/demo/build-demo.ts';
import { admitsAll } from './admits-all.ts';

/** Software renderers draw a model of this size in well under a second. */
const TRIANGLE_BUDGET = 150_000;
const BYTE_BUDGET = 6_000_000;

/** The part of the validator's report that is read here; severity 0 is an error, 1 a warning. */
interface Report {
  readonly issues: {
    readonly messages: { readonly code: string; readonly severity: number; readonly pointer: string }[];
  };
  readonly info: { readonly totalTriangleCount: number };
}

let pack: DemoPack;

beforeAll(async () => {
  pack = await buildDemo();
}, 240_000);

function digests({ files, products }: DemoPack): string[] {
  const digest = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
  return [...files.map(({ name, bytes }) => `${name} ${digest(bytes)}`), ...products.map(({ model }) => digest(model))];
}

describe('the demo line', () => {
  test('is the same to the byte when it is built again', async () => {
    expect(digests(await buildDemo())).toEqual(digests(pack));
  }, 240_000);

  test('can be posted from a worker', () => {
    expect(structuredClone(pack).products).toHaveLength(pack.products.length);
  });

  test('has at least 22 finishes of six families in three price grades', () => {
    expect(pack.finishes.length).toBeGreaterThanOrEqual(22);
    expect(new Set(pack.finishes.map(({ family }) => family)).size).toBeGreaterThanOrEqual(6);
    expect(new Set(pack.line.range.map(({ grade }) => grade)).size).toBe(3);
  });

  test('defines every finish of its range, once, with an article and maps that exist', () => {
    const codes = pack.finishes.map(({ finish }) => finish.toLowerCase());
    expect(new Set(codes).size).toBe(codes.length);
    expect(pack.line.range.map(({ finish }) => finish.toLowerCase())).toEqual(codes);
    const names = new Set(pack.files.map(({ name }) => name));
    for (const { article } of pack.finishes) {
      if (article) expect(pack.articles.map((known) => known.article)).toContain(article);
    }
    for (const { maps } of [...pack.articles, ...pack.finishes]) {
      for (const name of Object.values(maps ?? {})) expect(names).toContain(name);
    }
  });

  test('offers only what the positions allow', () => {
    for (const product of pack.products) expect(admitsAll(pack, product)).toEqual([]);
  });

  test('names variants so that none is part of another', () => {
    for (const { schedule } of pack.products) {
      const names = schedule.variants.map(({ name }) => name.toLowerCase());
      const inside = names.filter((name, i) => names.some((other, k) => k !== i && other.includes(name)));
      expect(inside).toEqual([]);
      expect(schedule.variants.map(({ code }) => code)).toContain(schedule.default);
    }
  });

  test('has models that the validator passes without error or warning', async () => {
    for (const { code, model } of pack.products) {
      const { issues, info } = (await validateBytes(model)) as Report;
      const remarks = issues.messages.filter(({ severity }) => severity < 2);
      expect({ code, remarks }).toEqual({ code, remarks: [] });
      expect(info.totalTriangleCount).toBeLessThan(TRIANGLE_BUDGET);
      expect(model.length).toBeLessThan(BYTE_BUDGET);
    }
  });

  test('has models of the size on the sheet, standing on the floor, in the middle', async () => {
    for (const { code, sheet, model, mount } of pack.products) {
      const document = await new NodeIO().readBinary(model);
      const { min, max } = getBounds(document.getRoot().getDefaultScene()!);
      const sizeMm = [0, 1, 2].map((k) => (max[k]! - min[k]!) * 1000);
      [sheet.widthMm, sheet.heightMm, sheet.depthMm].forEach((sheetMm, k) => {
        expect(Math.abs(sizeMm[k]! - sheetMm), `${code}, axis ${k}`).toBeLessThan(1);
      });
      const ground = mount === 'ceiling' ? max[1] : min[1];
      expect(Math.abs(ground! * 1000), code).toBeLessThan(0.05);
      for (const k of [0, 2]) expect(Math.abs(max[k]! + min[k]!) * 500, `${code}, axis ${k}`).toBeLessThan(1);
    }
  });

  test('has a material for every slot and a slot for every material', async () => {
    for (const { slots, schedule, model } of pack.products) {
      const document = await new NodeIO().readBinary(model);
      const materials = document
        .getRoot()
        .listMaterials()
        .map((material) => toKey(material.getName()));
      expect(slots.map(({ slot }) => slot).sort()).toEqual(materials.sort());
      const open = slots.filter(({ fixed }) => !fixed).map(({ slot }) => slot);
      for (const { choices } of schedule.variants) expect(Object.keys(choices).sort()).toEqual([...open].sort());
    }
  });

  test('has UVs in metres: half of the surface of each swappable part is within 15 %', async () => {
    for (const { slots, model } of pack.products) {
      const fixed = new Set(slots.filter((slot) => slot.fixed).map(({ slot }) => slot));
      const document = await new NodeIO().readBinary(model);
      for (const mesh of document.getRoot().listMeshes()) {
        const primitive = mesh.listPrimitives()[0]!;
        if (fixed.has(toKey(primitive.getMaterial()!.getName()))) continue;
        const ratios = areaRatios(
          primitive.getAttribute('POSITION')!.getArray()!,
          primitive.getAttribute('TEXCOORD_0')!.getArray()!,
          primitive.getIndices()!.getArray()!,
        );
        const median = weightedMedian(ratios);
        expect(median, mesh.getName()).toBeGreaterThan(0.85);
        expect(median, mesh.getName()).toBeLessThan(1.15);
      }
    }
  });
});

interface AreaRatio {
  readonly ratio: number;
  readonly area: number;
}

/** The ratio that half of the surface stays below. */
function weightedMedian(ratios: readonly AreaRatio[]): number {
  const sorted = [...ratios].sort((a, b) => a.ratio - b.ratio);
  const half = sorted.reduce((sum, { area }) => sum + area, 0) / 2;
  let sum = 0;
  return sorted.find(({ area }) => (sum += area) >= half)!.ratio;
}

/** For each triangle the area on the map (1 unit = 1 m) over the area in space. */
function areaRatios(p: ArrayLike<number>, uv: ArrayLike<number>, indices: ArrayLike<number>): AreaRatio[] {
  const ratios: AreaRatio[] = [];
  for (let t = 0; t < indices.length; t += 3) {
    const [a, b, c] = [indices[t]!, indices[t + 1]!, indices[t + 2]!];
    const edge = (to: number): number[] => [0, 1, 2].map((k) => p[to * 3 + k]! - p[a * 3 + k]!);
    const [e, f] = [edge(b), edge(c)] as [number[], number[]];
    const space = Math.hypot(
      e[1]! * f[2]! - e[2]! * f[1]!,
      e[2]! * f[0]! - e[0]! * f[2]!,
      e[0]! * f[1]! - e[1]! * f[0]!,
    );
    const map = Math.abs(
      (uv[b * 2]! - uv[a * 2]!) * (uv[c * 2 + 1]! - uv[a * 2 + 1]!) -
        (uv[c * 2]! - uv[a * 2]!) * (uv[b * 2 + 1]! - uv[a * 2 + 1]!),
    );
    if (space > 1e-10) ratios.push({ ratio: map / space, area: space });
  }
  return ratios;
}
