import { parse } from 'csv-parse/sync';
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';
import type { BrowserContext, Page } from 'puppeteer-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addPart, createDocument } from '../support/build-model.ts';
import { createIo } from '../support/gltf-io.ts';
import { CONTROL_TEXTS, HOSTILE_TEXTS } from '../support/hostile-texts.ts';
import { GLB } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { readZip } from '../support/read-zip.ts';
import { waitForJob } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Every free text holds something hostile. It must come out as the text that it is: on every page, in sheets, tables,
// headers, metadata and names of files.

const base = '/api/products/HOSTILE';
/** The same texts, but one slot: a picture of each variant takes one layer. */
const small = '/api/products/SMALL';
let service: TestService;
let slots: string[];
beforeAll(async () => {
  service = await startService();
  await fill();
});
afterAll(() => service.close());

const text = (at: number) => HOSTILE_TEXTS[at % HOSTILE_TEXTS.length]!;
/** Names are stored in Unicode NFC without white space around them. */
const asStored = (name: string) => name.normalize('NFC').trim();
const finishOf = (at: number) => `F-${at}`;

async function send(method: string, path: string, body: unknown, headers: Record<string, string> = {}) {
  const answer = await service.call(method, path, body, headers);
  expect(answer.status, `${method} ${path}: ${JSON.stringify(answer.body).slice(0, 300)}`).toBeLessThan(300);
  return answer.body;
}

/** One of everything that has a free text, and a finish, a variant and a slot for each hostile text. */
async function fill(): Promise<void> {
  const author = (at: number) => ({
    'dyeworks-person': encodeURIComponent(text(at)),
    'dyeworks-note': encodeURIComponent(text(at + 1)),
  });
  for (const [at, name] of HOSTILE_TEXTS.entries()) {
    await send('PUT', `/api/articles/A-${at}`, { name, family: 'textile', composition: text(at + 1) }, author(at));
    const finish = {
      name,
      names: { de: text(at + 2) },
      family: 'paint',
      colour: { hex: `#${(0x203040 + at * 0x040507).toString(16)}` },
      reference: { system: text(at + 3), code: text(at + 4), texture: text(at + 5) },
      supplier: text(at + 6),
      note: text(at + 7),
      tags: [text(at + 8).slice(0, 64)],
    };
    await send('PUT', `/api/finishes/${finishOf(at)}`, finish, author(at + 2));
    const decision = { decision: 'rejected', person: name, reason: text(at + 1), light: 'D65', shown: 'sample' };
    await send('POST', `/api/finishes/${finishOf(at)}/approvals`, decision);
  }
  const grades = HOSTILE_TEXTS.map((name) => name.slice(0, 32));
  await send('PUT', '/api/lines/HOSTILE', {
    name: text(0),
    positions: HOSTILE_TEXTS.map((label, at) => ({ position: `p-${at}`, label })),
    range: HOSTILE_TEXTS.map((_, at) => ({ finish: finishOf(at), grade: grades[at] })),
  });
  await send('POST', '/api/products', { code: 'HOSTILE', name: text(1), line: 'HOSTILE' });
  const received = await send('PUT', `${base}/model`, await makeModel(HOSTILE_TEXTS), GLB);
  slots = received.slots.map(({ slot }: { slot: string }) => slot);
  expect(slots).toHaveLength(HOSTILE_TEXTS.length);
  for (const [at, slot] of slots.entries()) {
    await send('PATCH', `${base}/slots/${slot}`, { label: text(at), position: `p-${at}` });
  }
  await send('PUT', `${base}/schedule`, scheduleOf(slots));
  await send('POST', '/api/products', { code: 'SMALL', name: text(1), line: 'HOSTILE' });
  const few = await send('PUT', `${small}/model`, await makeModel([text(0)]), GLB);
  await send('PUT', `${small}/schedule`, scheduleOf([few.slots[0].slot]));
  const budget = { recommended: 1_000_000 };
  await send('PUT', '/api/budgets/hostile', {
    label: text(0),
    source: text(1),
    fileBytes: budget,
    triangles: budget,
    draws: budget,
    texturePx: 1024,
  });
  await send('PUT', '/api/picture-sets/hostile', {
    name: text(3),
    sizes: [64],
    format: 'png',
    swatches: ['chip'],
    names: '{index}_{name}',
  });
  await send('POST', `${base}/deliveries`, {});
}

const scheduleOf = (slots: readonly string[]) => ({
  default: 'V-0',
  variants: HOSTILE_TEXTS.map((name, at) => ({
    code: `V-${at}`,
    name,
    choices: Object.fromEntries(slots.map((slot, column) => [slot, finishOf((at + column) % HOSTILE_TEXTS.length)])),
  })),
});

/** A model whose scene, nodes, meshes and materials have these names. */
async function makeModel(names: readonly string[]): Promise<Uint8Array> {
  const document = createDocument();
  document.getRoot().listScenes()[0]!.setName(text(0));
  document.getRoot().getAsset().generator = text(1);
  document.getRoot().getAsset().copyright = text(15);
  for (const name of names) addPart(document, { name, material: document.createMaterial(name) });
  return (await createIo()).writeBinary(document);
}

describe('a text with control characters', () => {
  it.each(CONTROL_TEXTS)('%j is refused as a name', async (name) => {
    const product = await service.call('PATCH', base, { name });
    expect([product.status, product.body.code]).toEqual([400, 'invalid-name']);
    const finish = await service.call('PUT', '/api/finishes/F-0', {
      name,
      family: 'paint',
      colour: { hex: '#102030' },
    });
    expect([finish.status, finish.body.code]).toEqual([400, 'invalid-name']);
    const author = { 'dyeworks-person': encodeURIComponent(name) };
    const person = await service.call('DELETE', '/api/finishes/F-0', undefined, author);
    expect([person.status, person.body.code]).toEqual([400, 'invalid-name']);
  });
});

describe('pages', () => {
  let browser: BrowserContext;
  let page: Page;
  const faults: string[] = [];
  const struck: string[] = [];
  const foreign: string[] = [];
  beforeAll(async () => {
    ({ browser, page } = await openPages(faults));
    page.on('dialog', (dialog) => {
      struck.push(dialog.message());
      void dialog.dismiss();
    });
    page.on('request', (request) => {
      if (!/^(blob|data):/.test(request.url()) && !request.url().startsWith(service.url)) foreign.push(request.url());
    });
  });
  afterAll(() => browser?.close());

  const seeAll = async (shown: Iterable<number>) => {
    for (const at of shown) {
      await page.waitForFunction(
        (wanted: string) => {
          const fields = [...document.querySelectorAll('input, textarea')].map(
            (field) => (field as HTMLInputElement).value,
          );
          return [document.body.textContent, ...fields].some((each) => each.replace(/\s+/g, ' ').includes(wanted));
        },
        { timeout: 15_000 },
        asStored(text(at)).replace(/\s+/g, ' '),
      );
    }
  };

  const expectUnbroken = async () => {
    const broken = await page.evaluate(() => ({
      struck: (window as { struck?: unknown }).struck ?? null,
      elements: [...document.querySelectorAll('*')]
        .filter(
          (element) =>
            element.getAttributeNames().some((name) => name.startsWith('on')) ||
            /^javascript:/i.test(element.getAttribute('href') ?? element.getAttribute('src') ?? '') ||
            (element.localName === 'script' && !element.hasAttribute('src')) ||
            element.localName === 'struck',
        )
        .map((element) => element.outerHTML.slice(0, 200)),
    }));
    expect(broken).toEqual({ struck: null, elements: [] });
  };

  it.each([
    ['home, with lines and products', '/', [0, 1]],
    ['a line', '/lines/HOSTILE', HOSTILE_TEXTS.keys()],
    ['finishes', '/finishes', HOSTILE_TEXTS.keys()],
    ['a product and its model', '/products/HOSTILE', [0, 1]],
    ['the parts of a product', '/products/HOSTILE/parts', HOSTILE_TEXTS.keys()],
    ['a schedule', '/products/HOSTILE/schedule', HOSTILE_TEXTS.keys()],
    ['deliveries', '/products/HOSTILE/deliver', [1, 3]],
    ['picture sets', '/picture-sets', [3]],
  ] as const)('show each as text: %s', async (_, path, shown) => {
    await page.goto(service.url + path);
    await seeAll(shown);
    // opens every folded part
    await page.evaluate(() => {
      for (const details of document.querySelectorAll('details')) details.open = true;
    });
    await expectUnbroken();
  });

  it('show the texts of a finish in its form', async () => {
    await page.goto(`${service.url}/finishes`);
    await seeAll([0]);
    await page.evaluate((name) => {
      [...document.querySelectorAll('button')].find((button) => button.textContent.trim() === name)!.click();
    }, text(0));
    // name, composition of the article, texts of the reference, supplier and note
    await seeAll([0, 2, 3, 4, 5, 6, 7]);
    await expectUnbroken();
  });

  it('run nothing, ask nobody else, and throw nothing', () => {
    expect({ faults, struck, foreign }).toEqual({ faults: [], struck: [], foreign: [] });
  });
});

describe('sheets', () => {
  it.each(['/api/lines/HOSTILE/colour-card.pdf', `${small}/schedule.pdf`])(
    'have no action, link or script: %s',
    async (path) => {
      const answer = await service.call('GET', path);
      expect(answer.status).toBe(200);
      const document = await getDocument({ data: new Uint8Array(answer.body), verbosity: 0 }).promise;
      expect([await document.getJSActions(), await document.getOpenAction(), await document.getAttachments()]).toEqual([
        null,
        null,
        null,
      ]);
      let words = '';
      for (let number = 1; number <= document.numPages; number++) {
        const page = await document.getPage(number);
        expect([await page.getAnnotations(), await page.getJSActions()]).toEqual([[], null]);
        const { items } = await page.getTextContent();
        words += items.map((item) => ('str' in item ? item.str : '')).join('');
      }
      await document.destroy();
      const squeeze = (value: string) => value.replace(/\s/g, '');
      for (const whole of [text(0), text(1), text(18)]) expect(squeeze(words)).toContain(squeeze(whole).slice(0, 20));
    },
  );
});

/** Names that leave their folder, or that a system would treat in another way. */
function expectSafeNames(names: Iterable<string>): void {
  for (const name of names) {
    expect(name).not.toMatch(/(^|[/\\])\.\.?([/\\]|$)|^[/\\]|[\\:*?"<>|]|\p{Cc}|\p{Cf}/u);
    // names of devices: Microsoft, Naming Files, Paths, and Namespaces
    for (const part of name.split('/')) expect(part).not.toMatch(/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)|[. ]$/i);
  }
}

/** Cells that a spreadsheet would compute (OWASP, CSV Injection): they start with =, +, -, @, a tab or a line break. */
function expectSafeCells(csv: Buffer): string[][] {
  const rows = parse(csv, { bom: true }) as string[][];
  for (const cell of rows.flat()) {
    if (!/^-?\d+(\.\d+)?(e[+-]?\d+)?$/i.test(cell)) expect(cell).not.toMatch(/^[=+\-@\t\r]/);
  }
  return rows;
}

it('the catalogue has safe names and cells', async () => {
  const answer = await service.call('GET', `${small}/catalogue.zip?size=64`);
  expect(answer.status).toBe(200);
  const files = await readZip(Buffer.from(answer.body));
  expectSafeNames(files.keys());
  const tables = [...files].filter(([name]) => name.endsWith('.csv')).map(([, csv]) => expectSafeCells(csv));
  expect(tables.length).toBeGreaterThan(1);
  // they are there, so the check above has something to check
  expect(JSON.stringify(tables)).toContain('@SUM(1,2)');
});

it('the files of a picture set have safe names, and XMP that holds the texts', async () => {
  const { status, body: job } = await service.call('POST', `${small}/picture-sets/hostile`, {});
  expect(status).toBe(202);
  expect(await waitForJob(service, job.id)).toMatchObject({ state: 'done', failed: 0 });
  const { headers, body } = await service.call('GET', `${small}/picture-sets/hostile.zip`);
  expectSafeHeaders(headers);
  const files = await readZip(Buffer.from(body));
  expectSafeNames(files.keys());
  expectSafeCells(files.get('files.csv')!);
  const titles: string[] = [];
  for (const [name, bytes] of files) {
    if (!name.endsWith('.png')) continue;
    const xmp = (await sharp(bytes).metadata()).xmpAsString!;
    expect(XMLValidator.validate(xmp)).toBe(true);
    const read = new XMLParser({ ignoreAttributes: false, parseTagValue: false, trimValues: false }).parse(xmp);
    expect(JSON.stringify(read)).not.toContain('"struck"');
    const title = findValue(read, 'dc:title');
    titles.push(...listTexts(title));
  }
  for (const whole of HOSTILE_TEXTS) expect(titles).toContain(asStored(whole));
});

it('headers hold no line and no cookie of theirs', async () => {
  for (const path of [
    '/api/lines/HOSTILE/colour-card.pdf',
    `${small}/schedule.pdf`,
    `${base}/model.glb`,
    `${base}/deliveries/1/model.glb`,
    `${base}/deliveries/1/manifest.json`,
    `${small}/pictures/V-0.png?size=64`,
    `/api/finishes/F-0/swatch.png?size=64`,
    `${small}/catalogue.zip?size=64`,
    `/api/products/${encodeURIComponent('..%0d%0aStruck: 1')}`,
    `/api/products/${encodeURIComponent(text(0))}`,
    `/api/finishes?q=${encodeURIComponent(CONTROL_TEXTS[0])}`,
    `/${encodeURIComponent('"><script>window.struck=1</script>')}`,
  ]) {
    const { headers, status } = await service.call('GET', path);
    expect(status, path).toBeLessThan(500);
    expectSafeHeaders(headers);
  }
});

it('the delivery has the names as they are', async () => {
  const { body } = await service.call('GET', `${base}/deliveries/1/model.glb`);
  const document = await (await createIo()).readBinary(body);
  const extension = document
    .getRoot()
    .listExtensionsUsed()
    .find(({ extensionName }) => extensionName === 'KHR_materials_variants');
  expect(extension).toBeDefined();
  const { body: manifest } = await service.call('GET', `${base}/deliveries/1/manifest.json`);
  expect(manifest.variants.map(({ name }: { name: string }) => name)).toEqual(HOSTILE_TEXTS.map(asStored));
});

function expectSafeHeaders(headers: Headers): void {
  for (const [name, value] of headers) {
    expect(name).not.toMatch(/struck|set-cookie/i);
    expect(value).toMatch(/^[\x20-\x7e]*$/);
    if (name === 'content-disposition') expect(value).toMatch(/^(attachment|inline)(; filename="[\w.-]+")?$/);
  }
}

function findValue(tree: unknown, key: string): unknown {
  if (typeof tree !== 'object' || tree === null) return undefined;
  if (key in tree) return (tree as Record<string, unknown>)[key];
  for (const each of Object.values(tree)) {
    const found = findValue(each, key);
    if (found !== undefined) return found;
  }
  return undefined;
}

function listTexts(tree: unknown): string[] {
  if (typeof tree === 'string') return [tree];
  return typeof tree === 'object' && tree !== null ? Object.values(tree).flatMap(listTexts) : [];
}
