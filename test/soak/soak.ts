import { createHash } from 'node:crypto';
import { createRandom } from '../support/random.ts';
import { readRegistryModel } from '../support/registry-models.ts';

/** Many people at once on one running service. Everything that was confirmed must be there at the end. */
export interface SoakOptions {
  readonly url: string;
  readonly token?: string;
  readonly readers: number;
  readonly writers: number;
  /** A writer goes on until this says no, asked before each turn. Readers go on until all writers have ended. */
  readonly goOn: (turn: number) => boolean;
  readonly seed?: number;
}

export interface SoakReport {
  /** By kind of call: how many, and the milliseconds that half of them, 95 % and all of them stay under. */
  readonly calls: Readonly<Record<string, { count: number; refused: number; p50: number; p95: number; max: number }>>;
  /** Answers of 5xx (without 503 for a busy service, which are `refused`), broken connections, wrong contents. */
  readonly faults: readonly string[];
  /** Confirmed changes that were not found again. */
  readonly lost: readonly string[];
  readonly confirmed: number;
}

const MODEL = readRegistryModel('oculus-touch/left.glb');
const FAULT_LIMIT = 50;

export async function runSoak({ url, token, readers, writers, goOn, seed = 1 }: SoakOptions): Promise<SoakReport> {
  const times = new Map<string, { ms: number[]; refused: number }>();
  const faults: string[] = [];
  const lost: string[] = [];
  let confirmed = 0;
  let writing = true;

  const call = async (
    kind: string,
    method: string,
    path: string,
    body?: unknown,
    more: Record<string, string> = {},
  ) => {
    const isBytes = body instanceof Uint8Array;
    const headers: Record<string, string> = { ...more };
    if (token !== undefined) headers.authorization = `Bearer ${token}`;
    if (body !== undefined && !isBytes) headers['content-type'] = 'application/json';
    const start = performance.now();
    const record = times.get(kind) ?? { ms: [], refused: 0 };
    times.set(kind, record);
    try {
      const answer = await fetch(url + path, {
        method,
        headers,
        body: body === undefined ? undefined : isBytes ? (body as BodyInit) : JSON.stringify(body),
      });
      const bytes = new Uint8Array(await answer.arrayBuffer());
      record.ms.push(performance.now() - start);
      const isBusy = (answer.status === 503 || answer.status === 429) && answer.headers.has('retry-after');
      if (isBusy) record.refused++;
      else if (answer.status >= 500) note(`${kind}: ${answer.status} ${new TextDecoder().decode(bytes).slice(0, 200)}`);
      return { status: answer.status, headers: answer.headers, bytes };
    } catch (error) {
      note(`${kind}: ${String(error)} ${String((error as { cause?: unknown }).cause ?? '')}`);
      return { status: 0, headers: new Headers(), bytes: new Uint8Array() };
    }
  };
  const note = (text: string) => {
    if (faults.length < FAULT_LIMIT) faults.push(text);
  };
  // biome-ignore lint/suspicious/noExplicitAny: answers of every shape
  const json = (bytes: Uint8Array): any => JSON.parse(new TextDecoder().decode(bytes));

  /** A schedule that all writers add to, each on what it has read. @returns its path */
  const share = async () => {
    const path = '/api/products/SOAK-SHARED';
    await call('add product', 'POST', '/api/products', { code: 'SOAK-SHARED', name: 'Shared' });
    const model = { 'content-type': 'model/gltf-binary' };
    await call('upload', 'PUT', `${path}/model`, MODEL, model);
    const start = { default: 'START', variants: [{ code: 'START', name: 'START', choices: {} }] };
    await call('put schedule', 'PUT', `${path}/schedule`, start);
    return `${path}/schedule`;
  };
  const added: string[] = [];
  const addTo = async (path: string, code: string) => {
    const { status: found, headers, bytes } = await call('schedule', 'GET', path);
    if (found === 503 || found === 429) return;
    if (found !== 200) {
      note(`schedule of all writers: ${found} ${new TextDecoder().decode(bytes).slice(0, 200)}`);
      return;
    }
    const { default: standing, variants } = json(bytes);
    const next = { default: standing, variants: [...variants, { code, name: code, choices: {} }] };
    const tag = { 'if-match': headers.get('etag')! };
    const { status } = await call('add to shared schedule', 'PUT', path, next, tag);
    // 412: another was faster, and nothing is lost
    if (status < 300) added.push(code);
  };

  /** Reads what a visitor, a colleague and a shop read, in an order of their own. */
  const read = async (id: number) => {
    const random = createRandom(seed * 1000 + id);
    const pick = <T>(from: readonly T[]): T => from[Math.floor(random.next() * from.length)]!;
    const { products } = json((await call('list of products', 'GET', '/api/products')).bytes);
    const finishes: string[] = json((await call('list of finishes', 'GET', '/api/finishes')).bytes).finishes.map(
      ({ finish }: { finish: string }) => finish,
    );
    const codes: string[] = products
      .filter(({ defaultVariant }: { defaultVariant: string | null }) => defaultVariant !== null)
      .map(({ code }: { code: string }) => code);
    const tags = new Map<string, string>();
    while (writing) {
      const product = pick(codes);
      const step = pick([
        ['list of products', '/api/products'],
        ['product', `/api/products/${product}`],
        ['readiness', `/api/products/${product}/readiness`],
        ['schedule', `/api/products/${product}/schedule`],
        ['slots', `/api/products/${product}/slots`],
        ['finish', `/api/finishes/${pick(finishes)}`],
        [
          'colour search',
          `/api/finishes?near=%23${Math.floor(random.next() * 0xffffff)
            .toString(16)
            .padStart(6, '0')}&limit=5`,
        ],
        ['where used', `/api/finishes/${pick(finishes)}/where-used`],
        ['count', `/api/products/${product}/schedule/count`],
        ['swatch', `/api/finishes/${pick(finishes)}/swatch.png?size=64&kind=chip`],
        ['picture', `/api/products/${product}/pictures/current.png?size=64`],
        ['model', `/api/products/${product}/model.glb`],
        ['page', '/'],
        ['health', '/health'],
      ] as const);
      const { status, headers, bytes } = await call(step[0], 'GET', step[1]);
      const tag = headers.get('etag');
      if (step[0] === 'model' && status === 200) {
        const digest = `"${createHash('sha256').update(bytes).digest('hex')}"`;
        if (digest !== tag) note(`model: ${product} has the tag ${tag} and the bytes ${digest}`);
        if (tags.has(product) && tags.get(product) !== tag) note(`model: ${product} changed its bytes`);
        tags.set(product, tag!);
      }
    }
  };

  /** Changes things of their own, and one thing that all writers share, and looks whether each change is there. */
  const write = async (id: number) => {
    const finish = `SOAK-F${id}`;
    const product = `SOAK-P${id}`;
    const colour = { hex: `#${(0x202020 + id * 0x030507).toString(16)}` };
    const confirm = async (what: string, path: string, holds: (body: unknown) => boolean) => {
      const { status, bytes } = await call(`check of ${what}`, 'GET', path);
      if (status === 429 || status === 503) return;
      confirmed++;
      if (status !== 200 || !holds(json(bytes))) lost.push(`${what} ${path}: ${status}`);
    };
    await call('add product', 'POST', '/api/products', { code: product, name: product });
    const received = await call('upload', 'PUT', `/api/products/${product}/model`, MODEL, {
      'content-type': 'model/gltf-binary',
    });
    const slots: string[] =
      received.status === 201 ? json(received.bytes).slots.map(({ slot }: { slot: string }) => slot) : [];
    for (let turn = 0; goOn(turn); turn++) {
      const name = `Turn ${turn}`;
      const put = await call('put finish', 'PUT', `/api/finishes/${finish}`, { name, family: 'paint', colour });
      if (put.status < 300) {
        await confirm('finish', `/api/finishes/${finish}`, (body) => (body as { name: string }).name === name);
      }
      const patch = await call('patch product', 'PATCH', `/api/products/${product}`, { name });
      if (patch.status < 300) {
        await confirm('product', `/api/products/${product}`, (body) => (body as { name: string }).name === name);
      }
      await addTo(shared, `S-${id}-${turn}`);
      if (slots.length > 0) {
        const choices = Object.fromEntries(slots.map((slot) => [slot, finish]));
        const schedule = { default: 'V', variants: [{ code: 'V', name, choices }] };
        const stored = await call('put schedule', 'PUT', `/api/products/${product}/schedule`, schedule);
        if (stored.status < 300) {
          await confirm('schedule', `/api/products/${product}/schedule`, (body) => {
            const { variants } = body as { variants: { name: string }[] };
            return variants[0]?.name === name;
          });
        }
        if (turn % 5 === 0) {
          const delivery = await call('deliver', 'POST', `/api/products/${product}/deliveries`, {});
          if (delivery.status === 201) {
            const { delivery: number } = json(delivery.bytes);
            await confirm('delivery', `/api/products/${product}/deliveries/${number}/manifest.json`, (body) => {
              const { variants } = body as { variants: { name: string }[] };
              return variants[0]?.name === name;
            });
          }
        }
      }
    }
  };

  const shared = await share();
  await Promise.all([
    Promise.all(Array.from({ length: writers }, (_, id) => write(id))).finally(() => {
      writing = false;
    }),
    ...Array.from({ length: readers }, (_, id) => read(id)),
  ]);
  // once more, when all is quiet: nothing that was confirmed has gone
  for (let id = 0; id < writers; id++) {
    for (const path of [`/api/finishes/SOAK-F${id}`, `/api/products/SOAK-P${id}`]) {
      const { status } = await call('check at the end', 'GET', path);
      if (status !== 200) lost.push(`${path}: ${status} at the end`);
    }
  }
  return {
    calls: Object.fromEntries([...times].map(([kind, record]) => [kind, summarise(record)])),
    faults,
    lost,
    confirmed,
  };
}

function summarise({ ms, refused }: { readonly ms: number[]; readonly refused: number }) {
  const sorted = [...ms].sort((a, b) => a - b);
  const at = (share: number) => Math.round(sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0);
  return { count: ms.length, refused, p50: at(0.5), p95: at(0.95), max: at(1) };
}
