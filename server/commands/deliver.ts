import { createWriteStream } from 'node:fs';
import { copyFile, mkdir } from 'node:fs/promises';
import { dirname, extname, join, resolve } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { planBundle } from '../actions/bundle-delivery.ts';
import { listFindings } from '../actions/check-product.ts';
import { makeCompressed } from '../actions/compress-delivery.ts';
import type { Context } from '../actions/context.ts';
import { deliver } from '../actions/deliver.ts';
import { splitByGroup } from '../actions/delivery-forms.ts';
import { loadProduct } from '../actions/load-product.ts';
import { findSamples } from '../actions/make-samples.ts';
import { FEED_FORMATS, openFeed } from '../actions/shop-feed.ts';
import { makeUsdForms } from '../actions/usd-forms.ts';
import { ConfigError } from '../config.ts';
import { readCompressedForm } from '../core/delivery/compressed-form.ts';
import type { DeliveryManifest } from '../core/delivery/delivery.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { judge } from '../core/product/verdict.ts';
import { listBundle } from '../http/list-bundle.ts';
import { writeStoredZip } from '../http/stored-zip.ts';
import { readArguments, readChoice, readList } from './arguments.ts';
import { createProgress, printJson } from './output.ts';
import { replaceFile } from './replace-file.ts';
import { CALL_TEXTS, formatFindings, INPUTS, RESULT_TEXTS } from './texts.ts';
import { type Surroundings, WORK_OPTIONS, workOnProduct } from './workshop.ts';

const OPTIONS = {
  ...WORK_OPTIONS,
  output: { type: 'string', short: 'o', required: true },
  names: { type: 'string' },
  forms: { type: 'string' },
  'split-by': { type: 'string' },
  address: { type: 'string' },
} as const;

/**
 * `dyeworks deliver model.glb --finishes … --schedule … -o out.glb`: 0 when written, 1 when findings block. With `--forms` or
 * `--split-by` the output is a zip or a folder, in the layout of the service's bundles.
 */
export async function deliverCommand(args: readonly string[], surroundings: Surroundings): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], OPTIONS);
  const names = readChoice('names', options.names, ['name', 'code']) ?? 'name';
  const splitBy = readChoice('split-by', options['split-by'], ['article', 'grade']);
  const forms = options.forms === undefined ? (splitBy ? ['model', 'parts'] : null) : readList(options.forms);
  const address = readAddress(options.address, forms?.includes('feed') ?? false);
  const targetPath = resolve(String(options.output));
  return workOnProduct(files[0]!, options, surroundings, async (context, code) => {
    const findings = await listFindings(context, await loadProduct(context, code));
    if (judge(findings) === 'blocked') {
      if (options.json) printJson({ path: null, findings: groupFindings(findings) });
      else for (const line of formatFindings(findings)) console.log(line);
      return 1;
    }
    const { manifest } = await deliver(context, code, { names });
    const { sha256, bytes } = manifest.file;
    if (splitBy) await splitByGroup(context, manifest, { splitBy });
    const written = forms
      ? await writeForms(context, manifest, { forms, address, signal: surroundings.signal }, targetPath)
      : null;
    if (!forms) await replaceFile(targetPath, (partPath) => copyFile(context.files.getPath(sha256), partPath));
    if (options.json) {
      printJson({ path: targetPath, ...(written && { written }), ...manifest });
      return 0;
    }
    for (const line of formatFindings(manifest.findings)) console.log(line);
    for (const { check, passed, detail } of manifest.checks) console.log(RESULT_TEXTS.check(passed, check, detail));
    console.log(RESULT_TEXTS.delivered(targetPath, manifest.variants.length, bytes, sha256));
    return 0;
  });
}

/**
 * Writes the asked forms of a delivery into a zip, or into a folder where the path does not end with `.zip`.
 * @returns their paths in it
 * @throws Problem `unknown-form`
 */
async function writeForms(
  context: Context,
  manifest: DeliveryManifest,
  { forms, address, signal }: { forms: readonly string[]; address: string; signal: AbortSignal },
  targetPath: string,
): Promise<readonly string[]> {
  if (forms.includes('samples')) await findSamples(context, manifest);
  await makeUsdForms(context, manifest, forms);
  for (const form of forms) if (readCompressedForm(form)) await makeCompressed(context, manifest, form, signal);
  const sources = await planBundle(context, manifest, forms, address);
  const names: string[] = [];
  const progress = createProgress(sources.length);
  const entries = (async function* () {
    for await (const entry of listBundle(
      context.models,
      manifest,
      sources,
      context.files.getPath(manifest.file.sha256),
    )) {
      yield entry;
      names.push(entry.name);
      progress.step();
    }
  })();
  if (/\.zip$/i.test(targetPath)) {
    await replaceFile(targetPath, (partPath) => pipeline(writeStoredZip(entries), createWriteStream(partPath)));
  } else {
    for await (const entry of entries) {
      const path = join(targetPath, ...entry.name.split('/'));
      await mkdir(dirname(path), { recursive: true });
      await replaceFile(path, (partPath) => pipeline(entry.open(), createWriteStream(partPath)));
    }
  }
  progress.end();
  return names;
}

const FEED_OPTIONS = {
  ...WORK_OPTIONS,
  output: { type: 'string', short: 'o', required: true },
  names: { type: 'string' },
  address: { type: 'string' },
} as const;

/** `dyeworks feed model.glb … -o feed.csv|feed.json|feed.jsonld --address https://…`: the shop data of a delivery. */
export async function feedCommand(args: readonly string[], surroundings: Surroundings): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], FEED_OPTIONS);
  const path = resolve(String(options.output));
  const format = readChoice('output', extname(path).slice(1).toLowerCase(), FEED_FORMATS)!;
  const names = readChoice('names', options.names, ['name', 'code']) ?? 'name';
  const base = readAddress(options.address, true);
  return workOnProduct(files[0]!, options, surroundings, async (context, code) => {
    const { manifest } = await deliver(context, code, { names });
    const { text } = await openFeed(context, code, String(manifest.delivery), { format, base, bom: false });
    await replaceFile(path, (partPath) => pipeline(text, createWriteStream(partPath)));
    const { length } = manifest.variants;
    if (options.json) printJson({ path, variants: length });
    else console.log(RESULT_TEXTS.feed(length, path));
    return 0;
  });
}

/** What stands before the paths in shop data. @throws ConfigError for another text, or where it is needed and missing */
function readAddress(given: string | boolean | undefined, needed: boolean): string {
  if (given === undefined && !needed) return '';
  const text = String(given ?? '');
  if (URL.canParse(text) && /^https?:$/.test(new URL(text).protocol)) return new URL(text).href.replace(/\/+$/, '');
  throw new ConfigError(CALL_TEXTS.wrongAddress(given));
}
