import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createPixelThreads } from '../../renderer/pixels/pixel-threads.ts';
import { ConfigError, readConfig } from '../config.ts';
import { IMAGE_FORMATS, PICTURE_SIZE_PX, SWATCH_KINDS } from '../core/picture/picture.ts';
import { choosePanelWidthMm } from '../core/picture/swatch.ts';
import { createModels } from '../gltf/create-models.ts';
import { createImaging, openRenderer } from '../open-studio.ts';
import { WORKERS } from '../root.ts';
import { readArguments, readChoice } from './arguments.ts';
import { readFinishes } from './read-finishes.ts';
import { CALL_TEXTS, INPUTS, RESULT_TEXTS } from './texts.ts';

const OPTIONS = {
  output: { type: 'string', short: 'o', required: true },
  kind: { type: 'string' },
  size: { type: 'string' },
  format: { type: 'string' },
} as const;

/** `dyeworks swatches finishes.json -o folder`: one picture per finish, named by its code. */
export async function swatchesCommand(
  args: readonly string[],
  env: Readonly<Record<string, string | undefined>>,
): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.finishes], OPTIONS);
  const kind = readChoice('kind', options.kind, SWATCH_KINDS) ?? 'sphere';
  const format = readChoice('format', options.format, IMAGE_FORMATS) ?? 'png';
  const sizePx = Number(options.size ?? PICTURE_SIZE_PX.swatchDefault);
  if (!Number.isInteger(sizePx) || sizePx < PICTURE_SIZE_PX.min || sizePx > PICTURE_SIZE_PX.swatchMax) {
    throw new ConfigError(CALL_TEXTS.wrongPictureSize(PICTURE_SIZE_PX.min, PICTURE_SIZE_PX.swatchMax));
  }
  const { resolved, readMap } = await readFinishes(files[0]!);
  const folder = String(options.output);
  await mkdir(folder, { recursive: true });
  const renderer = openRenderer(readConfig(env));
  const models = createModels(WORKERS.models);
  const threads = createPixelThreads(WORKERS.pixels);
  const imaging = createImaging({ threads });
  try {
    for (const finish of resolved.values()) {
      const bytes =
        kind === 'chip'
          ? await imaging.makeChip(finish.hex, sizePx, format)
          : await imaging.encode(
              await renderer.takeSwatch({
                kind,
                light: 'studio',
                widthMm: choosePanelWidthMm(finish.tile),
                key: finish.finish,
                kit: await models.writeFinishGlb(finish, readMap),
                sizePx,
                ground: format === 'jpg' ? 'white' : 'transparent',
              }),
              format,
            );
      await writeFile(join(folder, `${finish.finish}.${format}`), bytes);
    }
    console.log(RESULT_TEXTS.swatches(resolved.size, folder));
    return 0;
  } finally {
    await renderer.close();
    await Promise.all([models.close(), threads.close()]);
  }
}
