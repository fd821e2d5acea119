import { foldCode } from '../codes.ts';
import { choiceOf } from '../schedule/schedule.ts';
import type { DeliveryManifest } from './delivery.ts';

/** An image of a delivered file. */
export interface DeliveredImage {
  readonly image: number;
  readonly name: string;
  readonly mimeType: string | null;
  readonly widthPx: number | null;
  readonly heightPx: number | null;
  /** Of its bytes, with padding, and of the JSON that refers to it. */
  readonly bytes: number;
  /** Materials that show it, ascending. */
  readonly materials: readonly number[];
  /** What it is for, as the properties of materials are called: `baseColorTexture`. */
  readonly uses: readonly string[];
}

/** A material of a delivered file. */
export interface DeliveredMaterial {
  readonly name: string;
  /** Of its JSON, and of the mappings that name it. */
  readonly jsonBytes: number;
  /** A variant that shows it on some part, and the materials of that part in all variants; null without a mapping. */
  readonly shown: { readonly variant: number; readonly beside: readonly number[] } | null;
}

/** The bytes of a delivered file by what reads them. All fields in bytes sum up to the file. */
export interface DeliveredBytes {
  readonly fileBytes: number;
  /** By the name of the attribute, or `indices`, `animations` and so on; heaviest first. */
  readonly geometry: readonly { readonly use: string; readonly bytes: number }[];
  readonly images: readonly DeliveredImage[];
  readonly materials: readonly DeliveredMaterial[];
  /** The rest of the JSON, headers and padding. */
  readonly structureBytes: number;
  /** What nothing reads. */
  readonly unreadBytes: number;
}

/** What a finish adds to a file. */
export interface FinishWeight {
  readonly finish: string;
  readonly name: string;
  readonly article: string | null;
  /** Bytes that would go if the finish were not in the file: images that only it shows, and its materials. */
  readonly adds: number;
  /** Bytes of images that it shows together with other finishes, or with parts. They would stay. */
  readonly shared: number;
}

export interface ArticleWeight {
  /** Null: finishes without an article. */
  readonly article: string | null;
  readonly finishes: number;
  /** What its finishes add, and the images that only they share. */
  readonly bytes: number;
  /** Of these, what several of its finishes share. */
  readonly shared: number;
}

/** The weight of a delivery. The five groups sum up to its bytes. */
export interface DeliveryWeight {
  readonly bytes: number;
  readonly groups: Readonly<Record<'geometry' | 'partTextures' | 'finishes' | 'structure' | 'unread', number>>;
  readonly geometry: DeliveredBytes['geometry'];
  /** Heaviest first. */
  readonly partTextures: readonly DeliveredImage[];
  /** Heaviest first; together with `sharedByArticles` they sum up to the group of finishes. */
  readonly articles: readonly ArticleWeight[];
  /** Images that finishes of several articles share. */
  readonly sharedByArticles: number;
  /** Heaviest first. */
  readonly finishes: readonly FinishWeight[];
}

/**
 * Divides the bytes of a delivery among its geometry, the textures of its parts, and its finishes. An image that a part shows
 * with its own material counts as the part's, also if a finish shows it too.
 * @param articleOf the article of a finish; null without one
 */
export function weighDelivery(
  file: DeliveredBytes,
  manifest: Pick<DeliveryManifest, 'variants' | 'finishes' | 'slots'>,
  articleOf: (finish: string) => string | null,
): DeliveryWeight {
  const owners = file.materials.map((_, index) => findFinish(file.materials, index, manifest));
  const weights = manifest.finishes.map(({ finish, name }) => ({
    finish,
    name,
    article: articleOf(finish),
    adds: 0,
    shared: 0,
  }));
  const byFinish = new Map(weights.map((weight) => [foldCode(weight.finish), weight]));
  const keyOf = (article: string | null) => (article === null ? null : foldCode(article));
  const articles = new Map<
    string | null,
    { article: string | null; finishes: number; bytes: number; shared: number }
  >();
  for (const { article } of weights) {
    const known = articles.get(keyOf(article));
    if (known) known.finishes++;
    else articles.set(keyOf(article), { article, finishes: 1, bytes: 0, shared: 0 });
  }
  let structure = file.structureBytes;
  let sharedByArticles = 0;
  const addTo = (finish: string, bytes: number) => {
    const weight = byFinish.get(finish)!;
    weight.adds += bytes;
    articles.get(keyOf(weight.article))!.bytes += bytes;
  };
  file.materials.forEach(({ jsonBytes }, index) => {
    const owner = owners[index]!;
    if (owner === null) structure += jsonBytes;
    else addTo(owner, jsonBytes);
  });
  const partTextures: DeliveredImage[] = [];
  let unread = file.unreadBytes;
  for (const image of file.images) {
    const finishes = new Set(image.materials.map((material) => owners[material] ?? null));
    if (finishes.size === 0) unread += image.bytes;
    else if (finishes.size === 1 && !finishes.has(null)) addTo([...finishes][0]!, image.bytes);
    else {
      const sharing = [...finishes].filter((finish) => finish !== null).map((finish) => byFinish.get(finish)!);
      for (const weight of sharing) weight.shared += image.bytes;
      const among = new Set(sharing.map(({ article }) => keyOf(article)));
      if (finishes.has(null)) partTextures.push(image);
      else if (among.size === 1) {
        const article = articles.get([...among][0]!)!;
        article.bytes += image.bytes;
        article.shared += image.bytes;
      } else sharedByArticles += image.bytes;
    }
  }
  const listed = [...articles.values()].sort((a, b) => b.bytes - a.bytes);
  return {
    bytes: file.fileBytes,
    groups: {
      geometry: sum(file.geometry.map(({ bytes }) => bytes)),
      partTextures: sum(partTextures.map(({ bytes }) => bytes)),
      finishes: sum(listed.map(({ bytes }) => bytes)) + sharedByArticles,
      structure,
      unread,
    },
    geometry: file.geometry,
    partTextures: partTextures.sort((a, b) => b.bytes - a.bytes),
    articles: listed,
    sharedByArticles,
    finishes: weights.sort((a, b) => b.adds - a.adds || b.shared - a.shared),
  };
}

const sum = (numbers: readonly number[]) => numbers.reduce((all, one) => all + one, 0);

/**
 * The finish that a material shows, by its folded code; null for a material of the part. A written material is named after
 * slot and finish; a supplied one keeps its own name, and the slot of its part follows from the other materials there.
 */
function findFinish(
  materials: readonly DeliveredMaterial[],
  index: number,
  { variants, finishes, slots }: Pick<DeliveryManifest, 'variants' | 'finishes' | 'slots'>,
): string | null {
  const named = findNamed(materials[index]!, variants, slots);
  if (named) return named.finish;
  const { shown } = materials[index]!;
  const variant = variants[shown?.variant ?? -1];
  if (!shown || !variant) return null;
  const supplied = new Set(finishes.filter((one) => one.supplied !== undefined).map(({ finish }) => foldCode(finish)));
  const beside = shown.beside
    .map((other) => findNamed(materials[other]!, variants, slots))
    .find((found) => found !== null);
  const places = beside ? [beside.slot] : slots.filter(({ fixed }) => !fixed).map(({ slot }) => slot);
  for (const slot of places) {
    const choice = choiceOf(variant.choices, slot);
    if (choice !== undefined && supplied.has(foldCode(choice))) return foldCode(choice);
  }
  return null;
}

function findNamed(
  { name, shown }: DeliveredMaterial,
  variants: DeliveryManifest['variants'],
  slots: DeliveryManifest['slots'],
): { readonly slot: string; readonly finish: string } | null {
  const variant = variants[shown?.variant ?? -1];
  if (!variant) return null;
  for (const { slot } of slots) {
    const choice = choiceOf(variant.choices, slot);
    if (choice !== undefined && foldCode(name) === foldCode(`${slot}/${choice}`)) {
      return { slot, finish: foldCode(choice) };
    }
  }
  return null;
}
