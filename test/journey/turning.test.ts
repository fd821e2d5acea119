import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Finding } from '../../server/core/product/finding.ts';
import type { Repair, RepairReport } from '../../server/core/repair/repair.ts';
import { createDocument } from '../support/build-model.ts';
import { createIo } from '../support/gltf-io.ts';
import { addKind, cube, move, reverse } from '../support/inward-solids.ts';
import { GLB } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { listValidatorErrors } from '../support/validate.ts';
import { listWorldTriangles } from '../support/world-triangles.ts';

// A box of 1 × 1 × 1 m with a body of 3 × 1 × 1 m inside out beside it. A person turns it outward and around the
// vertical axis once; every later export is turned on arrival. The glTF library reads the corners.

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await service.call('POST', '/api/products', { code: 'BOX', name: 'Box' });
});
afterAll(() => service.close());

const base = '/api/products/BOX';
const REPAIRS: readonly Repair[] = [{ repair: 'turn-outward' }, { repair: 'turn', axis: 'y', degrees: 90 }];

/** @param mended the supplier has turned the long body outward */
async function makeExport({ mended = false, feet = 1 } = {}): Promise<Uint8Array> {
  const document = createDocument();
  const long = { ...cube, positions: cube.positions.map((value, at) => (at % 3 === 0 ? value * 3 : value)) };
  addKind(document, 'long', mended ? long : reverse(long), { normals: 'along' });
  for (let foot = 0; foot < feet; foot++)
    addKind(document, `foot ${foot}`, move(cube, foot * 2, -1, 0), { normals: 'along' });
  return (await createIo()).writeBinary(document);
}

const getModel = async () => (await service.call('GET', `${base}/model.glb`)).body as Uint8Array;

async function expectTurned(): Promise<void> {
  const model = await getModel();
  const corners = (await listWorldTriangles(model)).flatMap(({ corners: own }) => own);
  // x becomes −z: three metres from left to right now run from front to back
  const span = (axis: number) =>
    Math.max(...corners.map((corner) => corner[axis]!)) - Math.min(...corners.map((corner) => corner[axis]!));
  expect([span(0), span(2)].map((side) => Math.round(side * 1e4) / 1e4)).toEqual([1, 3]);
  expect(await listValidatorErrors(model)).toEqual([]);
  const { body } = await service.call('GET', `${base}/readiness`);
  expect((body.findings as Finding[]).map(({ code }) => code)).not.toContain('faces-inward');
}

describe('a product that faces inward and sideways', () => {
  it('says so, proposes to turn it outward, and previews both repairs', async () => {
    const { status, body } = await service.call('PUT', `${base}/model`, await makeExport(), GLB);
    expect(status).toBe(201);
    const finding = (body.findings as Finding[]).find(({ code }) => code === 'faces-inward');
    expect(finding).toMatchObject({ severity: 'warning', seen: { pieces: 1 } });
    const { proposals } = (await service.call('GET', `${base}/readiness`)).body;
    expect(proposals).toContainEqual({ repair: 'turn-outward' });
    const preview = await service.call('POST', `${base}/repairs?preview=1`, { repairs: REPAIRS });
    expect(preview.status).toBe(200);
    expect(preview.body.changes.size).toMatchObject({
      before: { widthMm: 3000, depthMm: 1000 },
      after: { widthMm: 1000, depthMm: 3000 },
    });
    expect((await service.call('GET', `${base}/preparation`)).body.steps).toEqual([]);
  });

  it('is turned, and the steps join the preparation', async () => {
    const { status, body } = await service.call('POST', `${base}/repairs`, { repairs: REPAIRS });
    expect(status).toBe(201);
    expect(body.reports.map(({ outcome }: RepairReport) => outcome)).toEqual(['done', 'done']);
    await expectTurned();
    expect((await service.call('GET', `${base}/preparation`)).body.steps).toEqual(REPAIRS);
  });

  it.each([
    ['a new part', { feet: 2 }, ['done', 'done']],
    ['the fault mended', { mended: true }, ['nothing-to-do', 'done']],
  ] as const)('the next export, with %s, arrives turned', async (_, change, outcomes) => {
    const { status, body } = await service.call('PUT', `${base}/model`, await makeExport(change), GLB);
    expect(status).toBe(201);
    expect(body.prepared.map(({ outcome }: RepairReport) => outcome)).toEqual(outcomes);
    await expectTurned();
  });

  it('remembers the height that a factor was chosen for, after the turn', async () => {
    await service.call('POST', '/api/products', { code: 'TIP', name: 'Tipped' });
    await service.call('PUT', '/api/products/TIP/model', await makeExport(), GLB);
    const repairs = [
      { repair: 'turn', axis: 'z', degrees: 90 },
      { repair: 'scale', factor: 0.1 },
    ];
    expect((await service.call('POST', '/api/products/TIP/repairs', { repairs })).status).toBe(201);
    const { steps } = (await service.call('GET', '/api/products/TIP/preparation')).body;
    expect(steps[1]).toMatchObject({ factor: 0.1, seenHeightMm: 3000 });
    const { body } = await service.call('POST', '/api/products/TIP/preparation/replay');
    expect(body.prepared.map(({ outcome }: RepairReport) => outcome)).toEqual(['done', 'done']);
  });

  it('accepts a preparation with turns, and refuses an invalid one', async () => {
    const put = (steps: readonly object[]) => service.call('PUT', `${base}/preparation`, { steps });
    expect((await put([{ repair: 'turn', axis: 'x', degrees: 12.5 }])).status).toBe(200);
    const { status, body } = await put([{ repair: 'turn', axis: 'up', degrees: 90 }]);
    expect([status, body.code, body.where]).toEqual([400, 'invalid-repair', '/steps/0/axis']);
  });
});
