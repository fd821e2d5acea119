import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once as onEvent } from 'node:events';
import { existsSync, readFileSync, rmSync, statSync, truncateSync } from 'node:fs';
import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { checkData } from '../../db/check-data.ts';
import { lockDataFolder } from '../../db/lock-data-folder.ts';
import { findNewest } from '../../server/built-parts.mjs';
import { ROOT } from '../../server/root.ts';
import { ADOBE_RGB, makeRgbProfile } from '../support/icc.ts';
import { addTwoPositions, GLB, putLineOfFinishes } from '../support/job.ts';
import { createBench } from '../support/model-with-variants.ts';
import { once } from '../support/once.ts';
import { createRandom } from '../support/random.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { writePng } from '../support/write-png.ts';

// Ends a real service at any moment of an action, with or without a power cut, and looks at what the next start finds.

type Call = readonly [method: string, path: string, body?: unknown, headers?: Record<string, string>];

const DECISION = { decision: 'approved', person: 'Ada', light: 'D65', shown: 'sample' };
/** With a profile, so that Dyeworks makes a converted copy. */
const IMAGE = writePng({
  ...{ type: 'rgb', bits: 8, widthPx: 16, icc: makeRgbProfile(ADOBE_RGB) },
  codes: Array.from({ length: 16 * 16 * 3 }, (_, i) => (i * 7) % 256),
});

/** Actions of several steps. Each begins with the same data. */
export const ACTIONS: Readonly<Record<string, Call>> = {
  upload: ['PUT', '/api/products/TOUCH/model', readRegistryModel('oculus-touch/right.glb'), GLB],
  repair: ['POST', '/api/products/TOUCH/repairs', { repairs: [{ repair: 'scale', factor: 2 }] }],
  import: ['POST', '/api/finishes/import', listCsv(600), { 'content-type': 'text/csv' }],
  discontinue: ['POST', '/api/lines/FEN/discontinue', { finish: 'TARN.3', replacedBy: 'COAL_4' }],
  delivery: ['POST', '/api/products/TOUCH/deliveries', { names: 'code' }],
  deletion: ['DELETE', '/api/products/TOUCH'],
  variants: ['POST', '/api/products/BENCH/model/take-variants', {}],
  revision: ['POST', '/api/products/BENCH/revisions/1/use'],
  replay: ['POST', '/api/products/TOUCH/preparation/replay'],
  schedule: ['PUT', '/api/products/BENCH/schedule', { default: 'V9', variants: listRows(200) }],
  line: ['PUT', '/api/lines/FEN', { name: 'Fen', positions: listPositions(['shell', 'trim', 'foot']), range: [] }],
  rules: ['PUT', '/api/lines/FEN/rules', { rules: [{ when: { position: 'shell' }, sameAs: { position: 'trim' } }] }],
  image: ['POST', '/api/files', IMAGE, { 'content-type': 'image/png' }],
  'finish-deletion': ['DELETE', '/api/finishes/SPARE-6'],
  approval: ['POST', '/api/finishes/OAK-1/approvals', DECISION],
};

function listRows(count: number) {
  return Array.from({ length: count }, (_, i) => ({ code: `V${i}`, name: `Row ${i}`, choices: {} }));
}

function listPositions(codes: readonly string[]) {
  return codes.map((position) => ({ position, label: position }));
}

/** A CSV of new finishes, in more than one batch of the store, and of one that changes. */
function listCsv(rows: number): string {
  const finishes = Array.from(
    { length: rows },
    (_, i) => `NEW-${i},Import ${i},paint,#${(0x102030 + i * 7).toString(16)}`,
  );
  return ['code,name,family,hex', 'OAK-1,Oak again,wood,#a1825a', ...finishes, ''].join('\n');
}

const READS = [
  '/api/products',
  '/api/products/TOUCH',
  '/api/products/TOUCH/slots',
  '/api/products/TOUCH/schedule',
  '/api/products/TOUCH/preparation',
  '/api/products/TOUCH/revisions',
  '/api/products/TOUCH/readiness',
  '/api/products/TOUCH/deliveries',
  '/api/products/TOUCH/deliveries/1/manifest.json',
  '/api/products/TOUCH/deliveries/2/manifest.json',
  '/api/products/TOUCH/model.glb',
  '/api/products/TOUCH/deliveries/1/model.glb',
  '/api/products/TOUCH/deliveries/2/model.glb',
  '/api/products/BENCH',
  '/api/products/BENCH/slots',
  '/api/products/BENCH/schedule',
  '/api/products/BENCH/revisions',
  '/api/products/BENCH/model.glb',
  '/api/lines/FEN',
  '/api/finishes',
  '/api/finishes/OAK-1/approvals',
  `/api/files/${createHash('sha256').update(IMAGE).digest('hex')}`,
  '/api/finishes/OAK-1/history',
  '/api/finishes/TARN.3/where-used',
  '/api/audit',
  '/api/finishes/OAK-1/swatch.png?kind=chip&size=48',
];

/** Digests in the audit cover the time of their entry. */
const isTimed = (path: string, key: string) =>
  key === 'createdAt' || key === 'at' || (path === '/api/audit' && key === 'digest');

/** What a service answers, without the times at which things happened. */
async function readAnswers(service: TestService): Promise<string> {
  const answers: string[] = [];
  for (const path of READS) {
    const { status, body } = await service.call('GET', path);
    const text =
      body instanceof Uint8Array
        ? createHash('sha256').update(body).digest('hex')
        : JSON.stringify(body, (key, value) => (isTimed(path, key) ? null : value));
    answers.push(`${path} ${status} ${text}`);
  }
  return answers.join('\n');
}

async function readFolder(folder: string): Promise<string> {
  const service = await startService({}, folder);
  try {
    return await readAnswers(service);
  } finally {
    await service.close();
  }
}

async function makeData(folder: string): Promise<void> {
  const service = await startService({}, folder);
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const expectDone = async (...[method, path, body, headers]: Call) => {
    const { status } = await service.call(method, path, body, headers);
    if (status >= 300) throw new Error(`${method} ${path}: ${status}`);
  };
  const variants = [
    { code: 'V1', name: 'Tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } },
    { code: 'V2', name: 'Coal', choices: { [shell]: 'COAL_4', [trim]: 'ASH-2' } },
  ];
  await expectDone('PUT', '/api/products/TOUCH/schedule', { default: 'V1', variants });
  await expectDone('POST', '/api/products/TOUCH/deliveries', {});
  // every new model gets this repair, which makes two revisions of one upload
  await expectDone('PUT', '/api/products/TOUCH/preparation', { steps: [{ repair: 'scale', factor: 0.5 }] });
  await expectDone('PUT', '/api/finishes/SPARE-6', { name: 'Spare', family: 'paint', colour: { hex: '#445566' } });
  await expectDone('POST', '/api/products', { code: 'BENCH', name: 'Bench' });
  await expectDone('PUT', '/api/products/BENCH/model', await createBench(), GLB);
  await expectDone('POST', '/api/products/BENCH/repairs', { repairs: [{ repair: 'scale', factor: 2 }] });
  await expectDone('GET', READS.at(-1)!);
  await service.close();
}

/** The bundle of the service, built anew when a source is newer. */
const provideBundle = once(async () => {
  const bundle = join(ROOT, '.build', 'server', 'dyeworks.mjs');
  const newest = findNewest(['server', 'db', 'renderer'].map((path) => join(ROOT, path)));
  if (!existsSync(bundle) || statSync(bundle).mtimeMs < newest) {
    const vite = join(ROOT, 'node_modules', 'vite', 'bin', 'vite.js');
    const { status } = spawnSync(
      process.execPath,
      [vite, 'build', '-c', 'server/vite.config.ts', '--logLevel', 'warn'],
      {
        cwd: ROOT,
        stdio: 'inherit',
      },
    );
    if (status !== 0) throw new Error('The service cannot be built.');
  }
  return bundle;
});

interface Moment {
  /** The step at which the process ends; see `record-disk.mjs`. */
  readonly step?: number;
  /** Or the time after the call begins, ms. */
  readonly afterMs?: number;
}

interface Ended {
  readonly status: number | null;
  readonly journal: readonly (readonly string[])[];
  readonly ms: number;
}

/** Starts a service on the folder, sends the call, and ends the service at the moment, or after the answer. */
async function runAndKill(folder: string, call: Call, { step, afterMs }: Moment): Promise<Ended> {
  const path = `${folder}.journal`;
  const env = { DYEWORKS_DATA: folder, DYEWORKS_PORT: '0', DYEWORKS_DEMO: 'off', FAULTS_JOURNAL: path };
  const record = join(ROOT, 'test', 'faults', 'record-disk.mjs');
  const child = spawn(process.execPath, ['--import', record, await provideBundle(), 'serve'], {
    cwd: ROOT,
    env: { ...process.env, ...env, FAULTS_KILL_AT: step === undefined ? '' : String(step) },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const ended = onEvent(child, 'exit');
  try {
    const url = await readAddress(child);
    child.kill('SIGUSR2');
    while (!readFileSync(path, 'utf8').includes('armed\n')) await setTimeout(5);
    const [method, route, body, headers] = call;
    const raw = body === undefined || body instanceof Uint8Array || typeof body === 'string';
    const begun = performance.now();
    const timer = afterMs === undefined ? null : setTimeout(afterMs).then(() => child.kill('SIGKILL'));
    const status = await fetch(url + route, {
      method,
      body: raw ? (body as BodyInit | undefined) : JSON.stringify(body),
      headers: raw ? headers : { 'content-type': 'application/json' },
    }).then(
      async (answer) => {
        await answer.arrayBuffer();
        return answer.status;
      },
      () => null,
    );
    const ms = performance.now() - begun;
    await timer;
    child.kill('SIGKILL');
    await ended;
    const journal = readFileSync(path, 'utf8').split('\n').filter(Boolean);
    return { status, journal: journal.map((line) => line.split('\t')), ms };
  } finally {
    child.kill('SIGKILL');
    await rm(path, { force: true });
  }
}

async function readAddress(child: ChildProcess): Promise<string> {
  let text = '';
  for await (const chunk of child.stdout!) {
    text += chunk;
    const found = /http:\/\/\S+:\d+/.exec(text)?.[0];
    if (found) return found;
  }
  throw new Error(`The service ended: ${text}`);
}

/**
 * What a power cut may do to files by POSIX: bytes that were not synced are lost, and so is a new name whose folder was not
 * synced.
 * @returns what it did
 */
function cutPower(journal: Ended['journal'], random: () => number): string[] {
  const unsynced = new Set<string>();
  const named = new Set<string>();
  for (const [what, path = '', to = ''] of journal) {
    if (what === 'write') unsynced.add(path);
    else if (what === 'sync') {
      unsynced.delete(path);
      for (const name of named) if (dirname(name) === path) named.delete(name);
    } else if (what === 'rename') {
      if (unsynced.delete(path)) unsynced.add(to);
      named.add(to);
    }
  }
  const done: string[] = [];
  for (const path of named) {
    if (!existsSync(path) || random() < 0.3) continue;
    rmSync(path);
    done.push(`lost ${path}`);
  }
  for (const path of unsynced) {
    if (!existsSync(path)) continue;
    const { size } = statSync(path);
    truncateSync(path, random() < 0.5 ? 0 : Math.floor(size * random()));
    done.push(`cut ${path}`);
  }
  return done;
}

/** What a crash may leave behind without harm: the next start deletes it, or makes it again. */
const HARMLESS = new Set(['leftover', 'unused-file', 'damaged-picture', 'missing-picture', 'stray-picture']);

async function listFaults(folder: string): Promise<string[]> {
  const lock = lockDataFolder(folder);
  try {
    const { remarks } = await checkData({ folder, mend: false, graceMs: 0 });
    return remarks.filter(({ code }) => !HARMLESS.has(code)).map(({ code, subject }) => `${code} ${subject}`);
  } finally {
    lock.release();
  }
}

export interface KillReport {
  /** Times the service was ended, by action and by what was found: as before the action, or as after it. */
  readonly outcomes: Record<string, { kills: number; before: number; after: number; cuts: number }>;
  /** What must not be. */
  readonly faults: string[];
}

interface KillOptions {
  /** Kills of each action at random times. */
  readonly atRandom: number;
  /** Kills of each action at the boundaries of its steps: at each of them, or at so many. */
  readonly atSteps: number | 'each';
  readonly seed: number;
  readonly actions?: readonly string[];
  /** For a test of this test: the power cut ignores every sync, and comes at the last step. Faults are then expected. */
  readonly ignoreSyncs?: boolean;
  readonly log?: (text: string) => void;
}

/** Ends the service in the middle of each action in turn; every second time the power is cut as well. */
export async function runKills({
  atRandom,
  atSteps,
  seed,
  actions = Object.keys(ACTIONS),
  ignoreSyncs = false,
  log = () => undefined,
}: KillOptions): Promise<KillReport> {
  const random = createRandom(seed);
  const root = await mkdtemp(join(tmpdir(), 'dyeworks-faults-'));
  const report: KillReport = { outcomes: {}, faults: [] };
  try {
    const data = join(root, 'data');
    await makeData(data);
    const before = await readFolder(data);
    let turn = 0;
    const listMoments = (steps: number, ms: number): Moment[] => {
      if (ignoreSyncs) return [{ step: steps }];
      const all = Array.from({ length: steps }, (_, i) => ({ step: i + 1 }));
      const some = atSteps === 'each' ? all : Array.from({ length: atSteps }, () => random.pick(all));
      return [...some, ...Array.from({ length: atRandom }, () => ({ afterMs: random.next() * ms }))];
    };
    for (const action of actions) {
      const call = ACTIONS[action]!;
      const whole = join(root, `${action}-whole`);
      await cp(data, whole, { recursive: true });
      const { status, journal: wholeJournal, ms } = await runAndKill(whole, call, {});
      if (status === null || status >= 300) throw new Error(`${action}: ${status}`);
      const steps = wholeJournal.filter(([what]) => what === 'step').length;
      const after = await readFolder(whole);
      if (after === before) throw new Error(`${action} changes nothing`);
      await rm(whole, { recursive: true });
      const outcome = { kills: 0, before: 0, after: 0, cuts: 0 };
      report.outcomes[action] = outcome;
      log(`${action}: ${steps} steps in ${Math.round(ms)} ms`);
      for (const moment of listMoments(steps, ms)) {
        const cutsPower = turn++ % 2 === 0;
        const folder = join(root, `${action}-${turn}`);
        await cp(data, folder, { recursive: true });
        const ended = await runAndKill(folder, call, moment);
        const journal = ended.journal.filter(([what]) => !(ignoreSyncs && what === 'sync'));
        const cuts = cutsPower ? cutPower(journal, () => random.next()) : [];
        const where = `${action}, ${JSON.stringify(moment)}, ${cuts.length} cuts`;
        const faults = await listFaults(folder);
        const found = await readFolder(folder).catch((error: Error) => error.message);
        outcome.kills++;
        outcome.cuts += cuts.length;
        if (found === before) outcome.before++;
        else if (found === after) outcome.after++;
        else report.faults.push(`${where}: neither before nor after: ${findDifference(found, before, after)}`);
        if (ended.status !== null && found === before)
          report.faults.push(`${where}: answered ${ended.status}, then lost`);
        report.faults.push(...faults.map((fault) => `${where}: ${fault}; ${cuts.join(', ')}`));
        await rm(folder, { recursive: true });
      }
      const { kills, ...found } = outcome;
      log(`${action}: ${kills} kills, ${JSON.stringify(found)}, ${report.faults.length} faults so far`);
    }
    return report;
  } finally {
    await rm(root, { recursive: true, force: true });
  }
}

/** The first answers that are neither as before nor as after, or that mix both. */
function findDifference(found: string, before: string, after: string): string {
  const [all, old, next] = [found, before, after].map((text) => text.split('\n')) as [string[], string[], string[]];
  const sides = all.map((line, i) => (line === old[i] ? (line === next[i] ? '=' : 'b') : line === next[i] ? 'a' : 'x'));
  const odd = all.filter((_, i) => sides[i] === 'x').map((line) => line.slice(0, 300));
  return `${sides.join('')} ${odd.join(' | ')}`;
}
