import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { planImport } from '../../../server/core/import/plan-import.ts';
import { IMPORT_PART, type ImportFile, type Imports } from '../../../server/core/ports/imports.ts';
import { createImports } from '../../../server/import/create-imports.ts';
import { readImport } from '../../../server/import/read-import.ts';
import { makeFinish } from '../../support/make-finish.ts';
import { makeSpectraCsv } from '../../support/measurements.ts';
import { expectRefusal } from '../../support/refusal.ts';

const imports = createImports();
afterAll(() => imports.close());

const ROWS = 3 * IMPORT_PART + 7;
const fileOf = (text: string): ImportFile => ({ bytes: new TextEncoder().encode(text), charset: null, viewing: {} });
const known = {
  finishes: Array.from({ length: IMPORT_PART + 3 }, (_, i) => ({ ...makeFinish(`C-${i}`), revision: 1 })),
  articles: [{ article: 'CORD', name: 'Cord', family: 'textile' as const }],
};
const plan = (text: string, by: Imports = imports) =>
  by.plan({ file: fileOf(text), defaults: { family: 'paint' }, wantsFinishes: true, recall: () => known });

/** Runs beside some work and counts how often the event loop comes round. */
async function countTurns<T>(work: Promise<T>): Promise<{ readonly result: T; readonly turns: number }> {
  let turns = 0;
  let ended = false;
  const turn = () => {
    turns += 1;
    if (!ended) setImmediate(turn);
  };
  setImmediate(turn);
  const result = await work.finally(() => {
    ended = true;
  });
  return { result, turns };
}

describe('createImports', () => {
  it('plans like planImport, and the event loop turns at least once for every part of the result', async () => {
    const text = `${makeSpectraCsv(ROWS)}=bad,x\nC-0,again\n`;
    const { result, turns } = await countTurns(plan(text));
    const { bytes, viewing } = fileOf(text);
    const straight = planImport(readImport(bytes, null, viewing), known, { family: 'paint' });
    expect(result).toEqual({ format: 'csv', ...straight });
    expect(straight.changed.length).toBe(IMPORT_PART + 2);
    expect(straight.refused.length).toBeGreaterThan(2);
    // codes, known finishes, created, changed, finishes
    const parts = Math.ceil(ROWS / IMPORT_PART) * 2 + Math.ceil(straight.finishes.length / IMPORT_PART);
    expect(turns).toBeGreaterThanOrEqual(parts);
  });

  it('asks once for known finishes, by the codes of the file, and returns finishes only if they are wanted', async () => {
    const asked: (readonly string[])[] = [];
    const { finishes, created } = await imports.plan({
      file: fileOf('code,name,hex\nA,x,#2f5d73\nb,y,#2f5d74\n'),
      defaults: { family: 'paint' },
      wantsFinishes: false,
      recall: (codes) => {
        asked.push(codes);
        return { finishes: [], articles: [] };
      },
    });
    expect(asked).toEqual([['A', 'b']]);
    expect(created).toHaveLength(2);
    expect(finishes).toEqual([]);
  });

  it('separates files that arrive at once', async () => {
    const texts = ['A', 'B', 'C'].map((code) => `code,name,hex\n${code},x,#2f5d73\n`);
    const plans = await Promise.all(texts.map((text) => plan(text)));
    expect(plans.map(({ created }) => created.map(({ finish }) => finish))).toEqual([['A'], ['B'], ['C']]);
  });

  it('refuses an unreadable file with its problem, and continues', async () => {
    const { message } = await expectRefusal(() => plan('code,name,price\nA,b,1\n'), 'import-unreadable');
    expect(message).toMatch(/“price”/);
    expect((await plan('code,name,hex\nA,x,#2f5d73\n')).created).toHaveLength(1);
  });

  it('stops reading when the caller leaves, and continues with the next file', async () => {
    const gone = new AbortController();
    const left = imports.plan({
      file: fileOf(makeSpectraCsv(ROWS)),
      defaults: { family: 'paint' },
      wantsFinishes: true,
      recall: () => known,
      signal: gone.signal,
    });
    setImmediate(() => gone.abort());
    await expectRefusal(() => left, 'work-cancelled');
    expect((await plan('code,name,hex\nA,x,#2f5d73\n')).created).toHaveLength(1);
  });

  it('refuses a file that crashes the thread, each time', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'dyeworks-thread-'));
    const entry = join(folder, 'worker.mjs');
    await writeFile(
      entry,
      "import { parentPort } from 'node:worker_threads'; parentPort.on('message', () => process.exit(1));",
    );
    const frail = createImports(pathToFileURL(entry));
    for (let i = 0; i < 2; i++) {
      const { message } = await expectRefusal(() => plan('code,name\nA,x\n', frail), 'import-unreadable');
      expect(message).toMatch(/Split it/);
    }
    await frail.close();
    await rm(folder, { recursive: true });
  });
});
