import sharp from 'sharp';
import type { Finish } from '../../server/core/finish/finish.ts';
import { levelMap, makeLevelTables } from '../../server/core/finish/level-map.ts';
import { resolveFinish } from '../../server/core/finish/resolve-finish.ts';
import { readPixels } from '../../server/images/image-codec.ts';
import { measureMap } from '../../server/images/measure-map.ts';
import { countCodes } from '../../server/images/measure-pixels.ts';
import { levelImage } from '../../server/images/remake-map.ts';
import { createRandom } from '../support/random.ts';
import { alternate, row, show } from './measure.ts';

const RUNS = 3;
const SIDE_PX = 2048;
const FINISHES = 2000;

/** What a colour map costs: measured once, re-encoded once for each contrast, and a look-up for each finish. */
export async function benchLevelling(): Promise<void> {
  const { next } = createRandom(7);
  const data = Buffer.alloc(SIDE_PX * SIDE_PX * 3);
  for (let i = 0; i < data.length; i++) data[i] = 40 + 60 * next();
  const image = await sharp(data, { raw: { width: SIDE_PX, height: SIDE_PX, channels: 3 } })
    .jpeg({ quality: 90 })
    .toBuffer();
  const counts = countCodes(await readPixels(image));
  const colours = Array.from(
    { length: FINISHES },
    () =>
      `#${Math.floor(next() * 0xffffff)
        .toString(16)
        .padStart(6, '0')}`,
  );
  const finish = (hex: string, maps: Finish['maps'] = {}): Finish => ({
    finish: 'F',
    name: 'F',
    family: 'textile',
    colour: { hex },
    colourFrom: 'specification',
    maps,
  });
  console.log(`\nLevelling a colour map of ${SIDE_PX} × ${SIDE_PX} px for ${FINISHES} finishes`);
  const times = await alternate(RUNS, {
    decode: async () => readPixels(image),
    measure: async () => measureMap(image),
    again: async () => {
      const pixels = await readPixels(image);
      const raw = { width: pixels.widthPx, height: pixels.heightPx, channels: pixels.channels };
      return sharp(pixels.data, { raw }).jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).toBuffer();
    },
    level: async () => levelImage(image, makeLevelTables(counts, 1)),
    plain: async () => colours.map((hex) => resolveFinish(finish(hex), null)),
    levelled: async () => colours.map((hex) => resolveFinish(finish(hex, { colour: 'm' }), null, () => counts)),
  });
  row('decode', show(times.decode));
  row('measure', show(times.measure));
  row('  ÷ decode', (times.measure.median / times.decode.median).toFixed(2));
  row('decode and encode with the library', show(times.again));
  row('level', show(times.level));
  row('  ÷ decode and encode', (times.level.median / times.again.median).toFixed(2));
  row('resolve plain finishes', show(times.plain));
  row('resolve levelled finishes', show(times.levelled));
  row('  ÷ plain', (times.levelled.median / times.plain.median).toFixed(2));
  const needed = new Set(colours.map((hex) => levelMap(resolveFinish(finish(hex), null).baseColour, counts).contrast));
  row('re-encoded maps they need', String([...needed].filter((contrast) => contrast !== null).length));
}
