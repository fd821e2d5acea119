import { crc32 } from 'node:zlib';
import sharp from 'sharp';
import { KTX2 } from './ktx2.ts';
import type { createRandom } from './random.ts';

type Random = ReturnType<typeof createRandom>;

export interface TestImage {
  readonly name: string;
  readonly type: 'image/png' | 'image/jpeg' | 'image/webp' | 'image/ktx2';
  readonly bytes: Buffer;
}

/** Undamaged images of every accepted kind, a few hundred to a few thousand bytes each. */
export async function makeWholeImages(): Promise<TestImage[]> {
  const [width, height] = [40, 32];
  const ramp = Buffer.from(
    Array.from({ length: width * height }, (_, i) => [
      (i * 6) & 255,
      (i >> 3) & 255,
      (i * i) & 255,
      255 - (i & 127),
    ]).flat(),
  );
  const rgba = () => sharp(ramp, { raw: { width, height, channels: 4 } });
  const rgb = () => rgba().removeAlpha();
  const made: [string, TestImage['type'], Promise<Buffer>][] = [
    ['PNG, RGB', 'image/png', rgb().png().toBuffer()],
    ['PNG, RGBA, interlaced', 'image/png', rgba().png({ progressive: true }).toBuffer()],
    ['PNG, palette', 'image/png', rgba().png({ palette: true, colours: 16 }).toBuffer()],
    ['PNG, 16 bits', 'image/png', rgb().toColourspace('rgb16').png().toBuffer()],
    ['PNG, grey, with a profile', 'image/png', rgb().toColourspace('b-w').withIccProfile('p3').png().toBuffer()],
    ['JPEG', 'image/jpeg', rgb().jpeg({ quality: 80 }).toBuffer()],
    ['JPEG, progressive', 'image/jpeg', rgb().jpeg({ progressive: true }).toBuffer()],
    [
      'JPEG, 4:4:4, with a profile',
      'image/jpeg',
      rgb().withIccProfile('p3').jpeg({ chromaSubsampling: '4:4:4' }).toBuffer(),
    ],
    ['WebP', 'image/webp', rgb().webp().toBuffer()],
    ['WebP, lossless, with alpha', 'image/webp', rgba().webp({ lossless: true }).toBuffer()],
    ['WebP, with alpha', 'image/webp', rgba().webp({ quality: 60 }).toBuffer()],
  ];
  const raster = await Promise.all(made.map(async ([name, type, bytes]) => ({ name, type, bytes: await bytes })));
  const compressed = Object.entries(KTX2).map(([name, bytes]): TestImage => {
    return { name: `KTX2, ${name}`, type: 'image/ktx2', bytes: Buffer.from(bytes) };
  });
  return [...raster, ...compressed];
}

/** Damages an image in one of the usual ways. The first bytes, which identify its kind, stay. */
export function damageImage(image: TestImage, random: Random): TestImage {
  const ways = [flipBits, flipHeader, cut, blank, drop, repeat, ...(OWN_WAYS[image.type] ?? [])];
  const way = random.pick(ways);
  const bytes = way(Buffer.from(image.bytes), random);
  return {
    name: `${image.name}: ${way.name}`,
    type: image.type,
    bytes: Buffer.concat([image.bytes.subarray(0, 12), bytes.subarray(12)]),
  };
}

type Way = (bytes: Buffer, random: Random) => Buffer;

const flipBits: Way = (bytes, random) => {
  for (let n = 1 + random.whole(8); n > 0; n--) bytes[12 + random.whole(bytes.length - 12)]! ^= 1 << random.whole(8);
  return bytes;
};

function flipHeader(bytes: Buffer, random: Random): Buffer {
  bytes[12 + random.whole(Math.min(150, bytes.length - 12))] = random.whole(256);
  return bytes;
}

function cut(bytes: Buffer, random: Random): Buffer {
  return bytes.subarray(0, 12 + random.whole(bytes.length - 12));
}

function blank(bytes: Buffer, random: Random): Buffer {
  const at = 12 + random.whole(bytes.length - 12);
  return bytes.fill(random.pick([0, 255]), at, Math.min(bytes.length, at + 1 + random.whole(200)));
}

function drop(bytes: Buffer, random: Random): Buffer {
  const at = 12 + random.whole(bytes.length - 12);
  return Buffer.concat([bytes.subarray(0, at), bytes.subarray(at + 1 + random.whole(40))]);
}

function repeat(bytes: Buffer, random: Random): Buffer {
  const at = 12 + random.whole(bytes.length - 12);
  return Buffer.concat([bytes.subarray(0, at + random.whole(64)), bytes.subarray(at)]);
}

interface Chunk {
  readonly type: string;
  readonly at: number;
  readonly end: number;
}

/** Chunks of an undamaged PNG (PNG, third edition, §5.3). */
export function listChunks(png: Buffer): Chunk[] {
  const chunks: Chunk[] = [];
  for (let at = 8; at < png.length; ) {
    const end = at + 12 + png.readUInt32BE(at);
    chunks.push({ type: png.toString('latin1', at + 4, at + 8), at, end });
    at = end;
  }
  return chunks;
}

/** A PNG in which a chunk of this type states a wrong CRC. */
export function breakCrc(png: Buffer, type: string): Buffer {
  const { end } = listChunks(png).find((chunk) => chunk.type === type)!;
  const broken = Buffer.from(png);
  broken[end - 1]! ^= 1;
  return broken;
}

function wrongCrc(png: Buffer, random: Random): Buffer {
  return breakCrc(png, random.pick(listChunks(png)).type);
}

function chunkGone(png: Buffer, random: Random): Buffer {
  const { at, end } = random.pick(listChunks(png));
  return Buffer.concat([png.subarray(0, at), png.subarray(end)]);
}

/** Changes the data of a chunk, and computes its CRC again. */
function chunkChanged(png: Buffer, random: Random): Buffer {
  const { at, end } = random.pick(listChunks(png).filter((chunk) => chunk.end - chunk.at > 12));
  png[at + 8 + random.whole(end - at - 12)] = random.whole(256);
  png.writeUInt32BE(crc32(png.subarray(at + 4, end - 4)), end - 4);
  return png;
}

/** Writes another size into the header, and changes nothing else. */
function sizeChanged(png: Buffer, random: Random): Buffer {
  png.writeUInt32BE(random.pick([0, 1, 20, 41, 64, 9000, 0x7fffffff, 0xffffffff]), random.pick([16, 20]));
  png.writeUInt32BE(crc32(png.subarray(12, 29)), 29);
  return png;
}

/** Frame header markers (ITU T.81, table B.1) with their lengths, sizes and components. */
function frameChanged(jpeg: Buffer, random: Random): Buffer {
  const at = jpeg.findIndex((byte, i) => byte === 0xff && /^(192|193|194)$/.test(String(jpeg[i + 1])));
  if (random.whole(3) === 0) jpeg[at + 1] = 0xc0 + random.whole(16);
  else if (random.whole(2) === 0)
    jpeg.writeUInt16BE(random.pick([0, 1, 8, 41, 64, 9000, 65535]), at + random.pick([5, 7]));
  else jpeg[at + 4 + random.whole(15)] = random.whole(256);
  return jpeg;
}

function sizesChanged(webp: Buffer, random: Random): Buffer {
  webp[random.pick([4, 5, 16, 17, 18, 23, 24, 25, 26, 27, 28, 29])] = random.whole(256);
  return webp;
}

/** Words of the header and the level index (KTX 2.0, §3): sizes, counts, the scheme, offsets and lengths. */
function wordChanged(ktx2: Buffer, random: Random): Buffer {
  const levels = ktx2.readUInt32LE(40);
  const word = 12 + 4 * random.whole(17 + 6 * levels);
  ktx2.writeUInt32LE(random.pick([0, 1, 2, 3, 6, 24, 100, 9000, 0x7fffffff, 0xffffffff]), word);
  return ktx2;
}

function levelsBlanked(ktx2: Buffer, random: Random): Buffer {
  const at = Number(ktx2.readBigUInt64LE(80 + 24 * random.whole(ktx2.readUInt32LE(40))));
  return ktx2.fill(random.whole(256), at, Math.min(ktx2.length, at + 1 + random.whole(30)));
}

const OWN_WAYS: Readonly<Record<TestImage['type'], readonly Way[]>> = {
  'image/png': [wrongCrc, wrongCrc, chunkGone, chunkChanged, chunkChanged, sizeChanged],
  'image/jpeg': [frameChanged, frameChanged],
  'image/webp': [sizesChanged, sizesChanged],
  'image/ktx2': [wordChanged, wordChanged, wordChanged, levelsBlanked, levelsBlanked],
};
