import { foldCode } from '../codes.ts';
import { formatFamily } from '../finish/families.ts';
import type { RangeStatus } from '../finish/finish.ts';
import { makeRowTexts } from '../schedule/row-template.ts';
import { choiceOf } from '../schedule/schedule.ts';
import type { DeliveryManifest } from './delivery.ts';

// What a shop needs to list the variants of a delivery. All of it is in the manifest, so a feed says the same for good, whatever
// becomes of the product.

/** What one slot of a variant has. */
export interface FeedChoice {
  readonly slot: string;
  readonly label: string;
  readonly finish: string;
  readonly name: string;
  /** By language tag. */
  readonly names: Readonly<Record<string, string>>;
  readonly hex: string | null;
  readonly material: string | null;
  /** Price grade. */
  readonly grade: string | null;
}

export interface FeedFile {
  /** Path below the delivery. */
  readonly form: string;
  readonly url: string;
  readonly mediaType: string;
}

/** One variant as a shop lists it. */
export interface FeedItem {
  readonly sku: string | null;
  readonly variant: string;
  readonly name: string;
  readonly names: Readonly<Record<string, string>>;
  /** 14 digits. */
  readonly gtin: string | null;
  /** The one furthest in its life cycle among its finishes; `discontinued` for a variant of an earlier delivery only. */
  readonly status: RangeStatus;
  /** The price grades of its finishes, each once. */
  readonly grade: string | null;
  readonly choices: readonly FeedChoice[];
  readonly pictures: readonly string[];
  readonly files: readonly FeedFile[];
}

/** Where a feed says that things are; absolute URLs. */
export interface FeedPlaces {
  readonly delivery: string;
  listPictures(variant: string): readonly string[];
  listFiles(variant: string, delivery: number): readonly FeedFile[];
}

type Listed = DeliveryManifest['variants'][number];
type Discontinued = NonNullable<DeliveryManifest['shop']>['discontinued'][number];

export interface Feed {
  /** Keys of the slots that change finish, with their labels. */
  readonly slots: readonly { readonly slot: string; readonly label: string }[];
  /** Languages that any name is given in, in order. */
  readonly languages: readonly string[];
  /** The variants of the delivery, then those of earlier ones. */
  readonly variants: readonly (Listed | Discontinued)[];
  describe(variant: Listed | Discontinued): FeedItem;
}

const STATUSES: readonly RangeStatus[] = ['planned', 'current', 'phase-out', 'discontinued'];

/** Each item is described when its turn comes: ten thousand at once would hold up other calls. */
export function makeFeed(manifest: DeliveryManifest, places: FeedPlaces): Feed {
  const { shop } = manifest;
  const finishes = new Map(
    [...manifest.finishes, ...(shop?.finishes ?? [])].map((finish) => [foldCode(finish.finish), finish]),
  );
  const slots = shop?.slots ?? manifest.slots.filter(({ fixed }) => !fixed).map(({ slot }) => ({ slot, label: slot }));
  const keys = slots.map(({ slot }) => slot);
  const languages = [...new Set([...finishes.values()].flatMap(({ names }) => Object.keys(names ?? {})))].sort();
  const textsIn = (language: string | null) =>
    makeRowTexts(shop?.nameTemplate === undefined ? undefined : { name: shop.nameTemplate }, keys, (code) => {
      const finish = finishes.get(foldCode(code));
      return finish && { finish: finish.finish, name: (language && finish.names?.[language]) || finish.name };
    });
  const plain = textsIn(null);
  const translated = languages.map((language) => [language, textsIn(language)] as const);

  const describeChoices = (choices: Listed['choices']): FeedChoice[] =>
    slots.flatMap(({ slot, label }) => {
      const code = choiceOf(choices, slot);
      if (code === undefined) return [];
      const finish = finishes.get(foldCode(code));
      return {
        slot,
        label,
        finish: code,
        name: finish?.name ?? code,
        names: finish?.names ?? {},
        hex: finish?.delivered?.hex ?? finish?.hex ?? null,
        material: finish?.family === undefined ? null : formatFamily(finish.family),
        grade: finish?.grade ?? null,
      };
    });

  return {
    slots,
    languages,
    variants: [...manifest.variants, ...(shop?.discontinued ?? [])],
    describe(variant) {
      const { code, name, choices } = variant;
      const earlier = 'delivery' in variant ? variant.delivery : null;
      const chosen = describeChoices(choices);
      const statuses = Object.values(choices).map((finish) => finishes.get(foldCode(finish))?.status ?? 'current');
      const furthest = Math.max(
        1,
        ...statuses.filter((each) => each !== 'planned').map((each) => STATUSES.indexOf(each)),
      );
      const status = statuses.includes('planned') && furthest === 1 ? 'planned' : STATUSES[furthest]!;
      // a name that someone wrote by hand cannot be translated
      const isMade = plain(choices).name === name;
      const names = Object.fromEntries(
        translated.flatMap(([language, texts]) => {
          const text = texts(choices).name;
          return isMade && text !== name ? [[language, text]] : [];
        }),
      );
      const grades = [...new Set(chosen.flatMap(({ grade }) => grade ?? []))].sort();
      return {
        sku: variant.sku ?? null,
        variant: code,
        name,
        names,
        gtin: variant.gtin ?? null,
        status: earlier === null ? status : 'discontinued',
        grade: grades.length > 0 ? grades.join('/') : null,
        choices: chosen,
        // pictures are taken of the schedule as it is now, which no longer has an earlier variant
        pictures: earlier === null ? places.listPictures(code) : [],
        files: places.listFiles(code, earlier ?? manifest.delivery),
      };
    },
  };
}

/** The columns of a feed as a table. */
export function listColumns({ slots, languages }: Pick<Feed, 'slots' | 'languages'>): string[] {
  return [
    ...['sku', 'variant', 'name', ...languages.map((language) => `name_${language}`), 'gtin', 'status', 'grade'],
    ...['product', 'product_name', 'delivery', 'picture', 'model_glb', 'model_usdz', 'all_variants_glb'],
    ...slots.flatMap(({ slot }) => [
      slot,
      `${slot}_name`,
      ...languages.map((language) => `${slot}_name_${language}`),
      ...['colour', 'material', 'grade'].map((what) => `${slot}_${what}`),
    ]),
  ];
}

/** A variant as a row of the table. */
export function toRow(
  item: FeedItem,
  { slots, languages }: Pick<Feed, 'slots' | 'languages'>,
  { product, productName, delivery }: Pick<DeliveryManifest, 'product' | 'productName' | 'delivery'>,
): (string | number | null)[] {
  const bySlot = new Map(item.choices.map((choice) => [choice.slot, choice]));
  const find = (test: (file: FeedFile) => boolean) => item.files.find(test)?.url ?? null;
  return [
    item.sku,
    item.variant,
    item.name,
    ...languages.map((language) => item.names[language] ?? null),
    ...[item.gtin, item.status, item.grade, product, productName, delivery, item.pictures[0] ?? null],
    find(({ form }) => form.startsWith('variants/') && form.endsWith('.glb')),
    find(({ form }) => form.startsWith('variants/') && form.endsWith('.usdz')),
    find(({ form }) => form === 'model.glb'),
    ...slots.flatMap(({ slot }) => {
      const choice = bySlot.get(slot);
      return [
        choice?.finish ?? null,
        choice?.name ?? null,
        ...languages.map((language) => choice?.names[language] ?? null),
        ...[choice?.hex ?? null, choice?.material ?? null, choice?.grade ?? null],
      ];
    }),
  ];
}
