import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { openDatabase } from '../../db/open-database.ts';
import type { Change } from '../../server/core/history/history.ts';
import { triangleGlb } from '../support/bad-models.ts';
import { failFiles, failStatements } from '../support/disk-faults.ts';
import { addTwoPositions, GLB, putLineOfFinishes } from '../support/job.ts';
import { makeFinish } from '../support/make-finish.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';
import { listTemporary, readStoredState } from '../support/stored-state.ts';
import { writePng } from '../support/write-png.ts';

// Codes of errno(3) and of SQLite (https://sqlite.org/rescode.html); 507 is RFC 4918 §11.5.

let service: TestService;
let shellSlot: string;
let end: (() => void)[] = [];
/** A picture that is stored before anything fails. */
const CHIP = '/api/finishes/OAK-1/swatch.png?kind=chip&size=64';
beforeAll(async () => {
  vi.spyOn(console, 'error').mockImplementation(() => undefined);
  service = await startService();
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  shellSlot = shell;
  const variants = [{ code: 'V1', name: 'Tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } }];
  expect((await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'V1', variants })).status).toBe(200);
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
  expect((await service.call('GET', CHIP)).status).toBe(200);
});
afterEach(() => {
  for (const each of end) each();
  end = [];
});
afterAll(async () => {
  vi.restoreAllMocks();
  await service.close();
});

/** What is stored, without the files that nothing refers to. */
async function readRows(): Promise<unknown> {
  const { files: _, ...rows } = (await readStoredState(service)) as Record<string, unknown>;
  return rows;
}

let made = 0;
const newModel = () => triangleGlb({ nodes: [{ mesh: 0, name: `fault ${++made}` }] });
const newImage = () =>
  writePng({ type: 'grey', bits: 8, codes: [++made % 256, 1, 2, Math.floor(made / 256)], widthPx: 2 });

const upload = () => service.call('PUT', '/api/products/TOUCH/model', newModel(), GLB);
/** A model that is packed, which makes a second file. */
const uploadPacked = () => {
  const positions = Buffer.from(new Float32Array([0, 0, 0, 1, 0, 0, 0, 0, 1]).buffer);
  const json = {
    asset: { version: '2.0' },
    scene: 0,
    scenes: [{ nodes: [0] }],
    nodes: [{ mesh: 0, name: `packed ${++made}` }],
    meshes: [{ primitives: [{ attributes: { POSITION: 0 } }] }],
    accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 0, 1] }],
    bufferViews: [{ buffer: 0, byteLength: 36 }],
    buffers: [{ byteLength: 36, uri: `data:application/octet-stream;base64,${positions.toString('base64')}` }],
  };
  const headers = { 'content-type': 'model/gltf+json' };
  return service.call('PUT', '/api/products/TOUCH/model', JSON.stringify(json), headers);
};
const uploadImage = () => service.call('POST', '/api/files', newImage(), { 'content-type': 'image/png' });
const putFinish = () =>
  service.call('PUT', '/api/finishes/NEW', { name: `New ${++made}`, family: 'paint', colour: { hex: '#123456' } });
const WRITES: Readonly<Record<string, () => Promise<Answer>>> = {
  'a new product': () => service.call('POST', '/api/products', { code: `P${++made}`, name: 'Product' }),
  'a model': upload,
  'an image': uploadImage,
  'a finish': putFinish,
  'a line': () => service.call('PUT', '/api/lines/FEN', { name: `Fen ${++made}` }),
  'a slot': () => service.call('PATCH', `/api/products/TOUCH/slots/${shellSlot}`, { label: `Shell ${++made}` }),
  'a repair': () =>
    service.call('POST', '/api/products/TOUCH/repairs', { repairs: [{ repair: 'scale', factor: 1.5 + ++made / 100 }] }),
  'a delivery': () => service.call('POST', '/api/products/TOUCH/deliveries', { names: 'code' }),
  'a deletion': () => service.call('DELETE', '/api/products/TOUCH'),
  'a picture job': () => service.call('POST', '/api/products/TOUCH/pictures', {}),
};

async function expectRefused(write: () => Promise<Answer>, code: string, status: number): Promise<void> {
  const answer = await write();
  expect({ status: answer.status, code: answer.body.code }).toEqual({ status, code });
  expect(answer.body.detail).toMatch(/\. \p{Lu}/u);
  expect(answer.body.detail).not.toContain(service.dataFolder);
}

async function expectReads(): Promise<void> {
  for (const path of ['/api/products', '/api/products/TOUCH/readiness', '/api/finishes', '/api/lines/FEN']) {
    expect((await service.call('GET', path)).status, path).toBe(200);
  }
  for (const path of ['model.glb', 'deliveries/1/model.glb']) {
    expect((await service.call('GET', `/api/products/TOUCH/${path}`)).status, path).toBe(200);
  }
}

describe('files that cannot be written', () => {
  it.each([
    ['ENOSPC', 'storage-full', 507],
    ['EDQUOT', 'storage-full', 507],
    ['EROFS', 'storage-read-only', 503],
    ['EACCES', 'storage-not-permitted', 503],
    ['EPERM', 'storage-not-permitted', 503],
    ['EIO', 'storage-failed', 503],
  ])('%s is answered with %s; nothing changes, nothing is left, reads go on', async (errno, code, status) => {
    const before = await readRows();
    for (const operation of ['open', 'write', 'sync', 'rename', 'mkdir']) {
      // an open file writes what it is given as a whole
      const names = operation === 'write' ? ['write', 'writeFile'] : [operation];
      end.push(await failFiles(errno, ({ name, path }) => names.includes(name) && path.includes(service.dataFolder)));
      if (operation !== 'mkdir') {
        await expectRefused(upload, code, status);
        await expectRefused(uploadPacked, code, status);
        if (operation !== 'open') await expectRefused(uploadImage, code, status);
      }
      await expectReads();
      end.pop()!();
      expect(await readRows()).toEqual(before);
      expect(await listTemporary(service)).toEqual([]);
    }
  });
});

describe('a database that cannot be written', () => {
  it.each([
    ['SQLITE_FULL', 'storage-full', 507],
    ['SQLITE_READONLY', 'storage-read-only', 503],
    ['SQLITE_IOERR_WRITE', 'storage-failed', 503],
    ['SQLITE_BUSY', 'storage-busy', 503],
  ])('%s is answered with %s at every write; nothing changes, reads go on', async (errno, code, status) => {
    const before = await readRows();
    end.push(failStatements(errno, /^\s*(insert|update|delete|replace)\b/i));
    for (const [name, write] of Object.entries(WRITES)) {
      await expectRefused(write, code, status).catch((error: Error) => {
        throw new Error(`${name}: ${error.message}`, { cause: error });
      });
    }
    await expectReads();
    end.pop()!();
    expect(await readRows()).toEqual(before);
    expect(await listTemporary(service)).toEqual([]);
  });

  it('fails at the commit, and leaves everything as it was', async () => {
    const before = await readRows();
    end.push(failStatements('SQLITE_FULL', /^commit$/i));
    for (const write of [upload, putFinish]) await expectRefused(write, 'storage-full', 507);
    end.pop()!();
    expect(await readRows()).toEqual(before);
    expect((await putFinish()).status).toBe(201);
  });

  it('is damaged: the answer says so, and what to do', async () => {
    end.push(failStatements('SQLITE_CORRUPT', /^select/i));
    await expectRefused(() => service.call('GET', '/api/products'), 'database-damaged', 503);
  });
});

it('a content file that is missing is named as that, and the same upload brings it back', async () => {
  const model = triangleGlb({ nodes: [{ mesh: 0, name: 'lost and found' }] });
  expect((await service.call('POST', '/api/products', { code: 'LOST', name: 'Lost' })).status).toBe(201);
  const { body } = await service.call('PUT', '/api/products/LOST/model', model, GLB);
  rmSync(join(service.dataFolder, 'files', body.sha256.slice(0, 2), body.sha256));
  await expectRefused(() => service.call('GET', '/api/products/LOST/model.glb'), 'file-lost', 503);
  expect((await service.call('PUT', '/api/products/LOST/model', model, GLB)).status).toBe(201);
  expect((await service.call('GET', '/api/products/LOST/model.glb')).status).toBe(200);
});

describe('pictures on a disk that cannot be written', () => {
  it.each(['ENOSPC', 'EROFS', 'EACCES', 'EIO'])(
    '%s: a new picture is sent, and no part of it is left',
    async (errno) => {
      const pictures = join(service.dataFolder, 'pictures');
      const before = readdirSync(pictures);
      end.push(await failFiles(errno, ({ name, path }) => name === 'rename' && path.startsWith(pictures)));
      const fresh = await service.call('GET', `/api/finishes/OAK-1/swatch.png?kind=chip&size=${100 + ++made}`);
      expect(fresh.status).toBe(200);
      expect(Buffer.from(fresh.body).subarray(1, 4).toString()).toBe('PNG');
      expect(readdirSync(pictures)).toEqual(before);
      end.pop()!();
      end.push(await failFiles(errno, ({ name, path }) => name === 'writeFile' && path.startsWith(pictures)));
      expect((await service.call('GET', `/api/finishes/OAK-1/swatch.png?kind=chip&size=${100 + ++made}`)).status).toBe(
        200,
      );
      expect(readdirSync(pictures)).toEqual(before);
    },
  );

  it('a stored picture is sent when its time of use cannot be written', async () => {
    vi.spyOn(Date, 'now').mockReturnValue(Date.now() + 3_600_000);
    end.push(() => vi.mocked(Date.now).mockRestore());
    end.push(failStatements('SQLITE_FULL', /^\s*(insert|update|delete)\b/i));
    const answer = await service.call('GET', CHIP);
    expect(answer.status).toBe(200);
    expect(answer.headers.get('picture-source')).toBe('stored');
  });
});

describe('a database file that has no room', () => {
  let folder: string;
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  // SQLite itself refuses to grow past max_page_count (https://sqlite.org/pragma.html#pragma_max_page_count)
  it('keeps what it has, names the cause, and writes again once there is room', async () => {
    folder = mkdtempSync(join(tmpdir(), 'dyeworks-full-'));
    const db = await openDatabase(join(folder, 'test.sqlite'));
    const pragma = async (name: string, value?: number) => {
      const { rows } = await sql
        .raw<Record<string, unknown>>(`PRAGMA ${name}${value === undefined ? '' : ` = ${value}`}`)
        .execute(db);
      return Object.values(rows[0]!)[0];
    };
    const stores = createStores(db);
    const change: Change = { person: null, how: 'saved', at: '2026-01-01T00:00:00Z' };
    await stores.putFinish(makeFinish('FIRST'), change);
    await pragma('max_page_count', Number(await pragma('page_count')));
    const large = makeFinish('LARGE', { name: 'x'.repeat(1_000_000) });
    await expect(stores.putFinish(large, change)).rejects.toMatchObject({ code: 'SQLITE_FULL' });
    expect((await stores.listFinishes()).map(({ finish }) => finish)).toEqual(['FIRST']);
    await pragma('max_page_count', 1_000_000);
    await stores.putFinish(large, change);
    expect((await stores.listFinishes()).map(({ finish }) => finish)).toEqual(['FIRST', 'LARGE']);
    expect(await pragma('integrity_check')).toBe('ok');
    await db.destroy();
  });
});
