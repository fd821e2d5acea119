import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Answer, startService, type TestService } from '../support/start-service.ts';
import { putTriedFinishes } from '../support/whole-way.ts';

/**
 * Prints the digest of everything whose bytes a change of structure must leave alone: the demo's deliveries, a fixed list
 * of pictures and swatches, and, for each model of a folder, its survey, findings, repaired model, delivery and picture.
 * Run it before and after a change on the same machine and compare with `diff`; pictures depend on the browser and its driver.
 *
 *     node --import tsx test/bench/digests.ts [--no-pictures] [FOLDER [EVERY]] > digests.txt
 */
const pictures = !process.argv.includes('--no-pictures');
const [folder, every = '1'] = process.argv.slice(2).filter((word) => !word.startsWith('--'));
const service = await startService({ DYEWORKS_DEMO: 'on' }, undefined, { engines: 'own' });
try {
  await service.filled;
  await printDemo(service);
  if (folder) await printFolder(service, folder, Number(every));
} finally {
  await service.close();
}

async function printDemo({ call }: TestService): Promise<void> {
  const { products } = (await call('GET', '/api/products')).body as { products: { code: string }[] };
  for (const { code } of products) {
    const base = `/api/products/${code}`;
    print(`${code} survey`, await call('GET', `${base}/survey?pieces=1`));
    print(`${code} findings`, findingsOf(await call('GET', `${base}/readiness`)));
    for (const names of ['name', 'code']) print(`${code} delivery by ${names}`, await deliver(base, { names }));
    const { variants, default: first } = (await call('GET', `${base}/schedule`)).body as Schedule;
    const last = variants[variants.length - 1]?.code;
    for (const variant of new Set([first, last])) {
      if (!variant || !pictures) continue;
      const picture = `${base}/pictures/${variant}.png?size=384`;
      print(`${code} ${variant}`, await call('GET', picture));
      print(`${code} ${variant} side, direct`, await call('GET', `${picture}&view=side&direct=1`));
    }
  }
  if (!pictures) return;
  const { finishes } = (await call('GET', '/api/finishes')).body as { finishes: { finish: string; family: string }[] };
  const families = new Set<string>();
  for (const { finish: code, family } of finishes) {
    if (families.has(family)) continue;
    families.add(family);
    for (const kind of ['chip', 'sphere', 'cutting', 'panel']) {
      print(`${code} ${kind}`, await call('GET', `/api/finishes/${code}/swatch.png?kind=${kind}&size=192`));
    }
  }
}

async function printFolder({ call }: TestService, models: string, step: number): Promise<void> {
  await putTriedFinishes(service);
  const files = readdirSync(models)
    .filter((name) => /\.(glb|zip)$/.test(name))
    .sort()
    .filter((_, index) => index % step === 0);
  for (const [index, name] of files.entries()) {
    const code = `D-${index}`;
    const base = `/api/products/${code}`;
    await call('POST', '/api/products', { code, name: code });
    const type = name.endsWith('.zip') ? 'application/zip' : 'model/gltf-binary';
    const received = await call('PUT', `${base}/model`, readFileSync(join(models, name)), { 'content-type': type });
    print(`${name} received`, [received.status, received.body.code ?? received.body.sha256]);
    if (received.status === 201) await printModel(name, base);
    await call('DELETE', base);
  }

  async function printModel(name: string, base: string): Promise<void> {
    print(`${name} survey`, await call('GET', `${base}/survey?pieces=1`));
    const readiness = await call('GET', `${base}/readiness`);
    print(`${name} findings`, findingsOf(readiness));
    const proposals = readiness.body.proposals ?? [];
    if (proposals.length > 0) {
      const repaired = await call('POST', `${base}/repairs`, { repairs: proposals });
      print(`${name} repaired`, [repaired.status, repaired.body.code ?? repaired.body.sha256]);
    }
    const slots = ((await call('GET', `${base}/slots`)).body as { slots: { slot: string }[] }).slots;
    if (slots.length === 0) return;
    const variants = ['A', 'B'].map((row, at) => ({
      code: row,
      name: `Look ${row}`,
      choices: Object.fromEntries(slots.map(({ slot }, column) => [slot, (at + column) % 2 ? 'TRY-B' : 'TRY-A'])),
    }));
    await call('PUT', `${base}/schedule`, { default: 'A', variants });
    print(`${name} delivery`, await deliver(base, {}));
    if (pictures) print(`${name} picture`, await call('GET', `${base}/pictures/B.png?size=96`));
  }
}

interface Schedule {
  readonly default: string;
  readonly variants: readonly { readonly code: string }[];
}

async function deliver(base: string, body: object): Promise<unknown> {
  const answer = await service.call('POST', `${base}/deliveries`, body);
  return [answer.status, answer.body.code ?? answer.body.sha256];
}

/** Findings without their words: a change of wording is not a change of judgement. */
function findingsOf({ body }: Answer): unknown {
  const { verdict, findings } = body as { verdict: string; findings: { code: string; severity: string }[] };
  return [verdict, ...findings.map(({ code, severity }) => `${code} ${severity}`)];
}

function print(what: string, seen: unknown): void {
  const value = isAnswer(seen) ? (seen.status === 200 ? seen.body : [seen.status, seen.body?.code]) : seen;
  const bytes = value instanceof Uint8Array ? value : JSON.stringify(value);
  console.log(`${createHash('sha256').update(bytes).digest('hex').slice(0, 24)}  ${what}`);
}

function isAnswer(value: unknown): value is Answer {
  return typeof value === 'object' && value !== null && 'headers' in value;
}
