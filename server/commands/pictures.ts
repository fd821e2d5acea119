import { createWriteStream } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { loadProduct } from '../actions/load-product.ts';
import { requireSchedule, requireVariant } from '../actions/loaded-product.ts';
import { retryWhileBusy } from '../actions/retry-while-busy.ts';
import { takePicture } from '../actions/take-picture.ts';
import { takeSwatch } from '../actions/take-swatch.ts';
import { listCatalogue } from '../actions/zip-files.ts';
import { ConfigError } from '../config.ts';
import { IMAGE_FORMATS, PICTURE_SIZE_PX, SWATCH_KINDS, VIEWS } from '../core/picture/picture.ts';
import { writeZip } from '../http/send-bytes.ts';
import { readArguments, readChoice, readList } from './arguments.ts';
import { createProgress, printJson, writeOutput } from './output.ts';
import { storeFinishes } from './read-finishes.ts';
import { replaceFile } from './replace-file.ts';
import { CALL_TEXTS, INPUTS, RESULT_TEXTS } from './texts.ts';
import { type Surroundings, WORK_OPTIONS, withWorkshop, workOnProduct } from './workshop.ts';

const PICTURE_OPTIONS = {
  output: { type: 'string', short: 'o', required: true },
  size: { type: 'string' },
  format: { type: 'string' },
} as const;

/** `dyeworks swatches finishes.json -o folder`: one picture per finish, named by its code. */
export async function swatchesCommand(args: readonly string[], { env }: Surroundings): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.finishes], {
    ...PICTURE_OPTIONS,
    kind: { type: 'string' },
    json: { type: 'boolean' },
  });
  const kind = readChoice('kind', options.kind, SWATCH_KINDS) ?? 'sphere';
  const format = readChoice('format', options.format, IMAGE_FORMATS) ?? 'png';
  const sizePx = readSize(options.size, PICTURE_SIZE_PX.swatchDefault, PICTURE_SIZE_PX.swatchMax);
  const folder = String(options.output);
  return withWorkshop(env, async (context) => {
    const codes = await storeFinishes(context, files[0]!);
    await mkdir(folder, { recursive: true });
    const progress = createProgress(codes.length);
    const written: object[] = [];
    for (const finish of codes) {
      const { bytes, sha256 } = await takeSwatch(context, finish, { kind, sizePx, format });
      const path = join(folder, `${finish}.${format}`);
      await writeOutput(path, bytes);
      written.push({ finish, path, sha256 });
      progress.step();
    }
    progress.end();
    if (options.json) printJson({ files: written });
    else console.log(RESULT_TEXTS.swatches(codes.length, folder));
    return 0;
  });
}

/** `dyeworks pictures model.glb --finishes … --schedule … -o folder`: one picture per variant and view, named by both. */
export async function picturesCommand(args: readonly string[], surroundings: Surroundings): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], {
    ...WORK_OPTIONS,
    ...PICTURE_OPTIONS,
    views: { type: 'string' },
    variants: { type: 'string' },
    background: { type: 'string' },
  });
  const format = readChoice('format', options.format, IMAGE_FORMATS) ?? 'png';
  const ground = readChoice('background', options.background, ['white', 'transparent']) ?? 'white';
  const sizePx = readSize(options.size, PICTURE_SIZE_PX.default, PICTURE_SIZE_PX.max);
  const views = readList(options.views).map((view) => readChoice('views', view, VIEWS)!);
  if (views.length === 0) views.push('three-quarter');
  const folder = String(options.output);
  return workOnProduct(files[0]!, options, surroundings, async (context, code) => {
    const loaded = await loadProduct(context, code);
    const asked = readList(options.variants).map((variant) => requireVariant(loaded, variant));
    const variants = asked.length > 0 ? asked : requireSchedule(loaded).variants;
    await mkdir(folder, { recursive: true });
    const progress = createProgress(variants.length * views.length);
    const written: object[] = [];
    // view by view: the layers of one view serve all its variants
    for (const view of views) {
      for (const { code: variant, choices } of variants) {
        const request = { widthPx: sizePx, heightPx: sizePx, view, ground, format, many: true };
        const { bytes, sha256 } = await retryWhileBusy(() => takePicture(context, loaded, choices, request));
        const path = join(folder, `${variant}_${view}.${format}`);
        await writeOutput(path, bytes);
        written.push({ variant, view, path, sha256 });
        progress.step();
      }
    }
    progress.end();
    if (options.json) printJson({ files: written });
    else console.log(RESULT_TEXTS.pictures(written.length, folder));
    return 0;
  });
}

/** `dyeworks catalogue model.glb --finishes … --schedule … -o catalogue.zip`: schedule, finishes, swatches and pictures. */
export async function catalogueCommand(args: readonly string[], surroundings: Surroundings): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], {
    ...WORK_OPTIONS,
    output: PICTURE_OPTIONS.output,
    size: PICTURE_OPTIONS.size,
  });
  const sizePx = readSize(options.size, PICTURE_SIZE_PX.default, PICTURE_SIZE_PX.max);
  const path = String(options.output);
  return workOnProduct(files[0]!, options, surroundings, async (context, code) => {
    const entries = await listCatalogue(context, code, sizePx);
    const names: string[] = [];
    const progress = createProgress();
    const counted = (async function* () {
      for await (const entry of entries) {
        yield entry;
        names.push(entry.name);
        progress.step();
      }
    })();
    await replaceFile(path, (partPath) => pipeline(writeZip(counted), createWriteStream(partPath)));
    progress.end();
    if (options.json) printJson({ path, files: names });
    else console.log(RESULT_TEXTS.catalogue(names.length, path));
    return 0;
  });
}

function readSize(value: string | boolean | undefined, usual: number, most: number): number {
  const sizePx = Number(value ?? usual);
  if (Number.isInteger(sizePx) && sizePx >= PICTURE_SIZE_PX.min && sizePx <= most) return sizePx;
  throw new ConfigError(CALL_TEXTS.wrongPictureSize(PICTURE_SIZE_PX.min, most));
}
