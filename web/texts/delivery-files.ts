import { count, formatNumber } from '../../server/core/texts/format-text.ts';

/** Texts of the files of a delivery on the sheet “Deliver”. */
export const deliveryFileTexts = {
  heading: (delivery: number) => `Files of delivery ${delivery}`,
  loses: 'Loses',
  get: 'GLB',
  zip: 'ZIP',
  of: (name: string) => ` of ${name}`,
  unknownSize: 'made on request',
  variants: (n: number) => count(n, 'variant'),
  all: { name: 'All variants', note: 'Nothing.' },
  one: {
    name: 'One variant',
    note: 'The choice: the file shows one variant, in every viewer.',
    pick: 'Variant',
  },
  some: {
    name: 'Chosen variants',
    note: 'The variants that are not chosen.',
    filter: 'Find variants',
    more: (n: number) => `${formatNumber(n)} more. Type a part of the name or code.`,
    chosen: (n: number) =>
      n === 0 ? 'No variant is chosen yet.' : `${count(n, 'variant is', 'variants are')} chosen.`,
    tooMany: 'These are too many for one URL. Choose fewer, or split the delivery.',
  },
  parts: {
    name: 'Split files',
    note: 'Each file has a part of the variants. A shop loads the file of an article and switches its colours.',
    by: 'Split by',
    kinds: { article: 'Article', grade: 'Price grade' },
    slot: 'Slot',
    everySlot: 'Every slot that varies',
    split: 'Split',
    group: (slot: string, group: string | null) => `${slot}: ${group ?? 'none'}`,
  },
  samples: { name: 'Finish samples', note: 'The product: the file has a plate of 100 mm for each finish.' },
  bundle: {
    name: 'ZIP file',
    note: 'Nothing. It always contains the manifest.',
    parts: {
      model: 'All variants',
      variants: 'A file for each variant',
      parts: 'Split files',
      samples: 'Finish samples',
      usdz: 'A USDZ for each variant',
      usd: 'All variants in USD',
      feed: 'Data for shops',
    },
  },
  feed: {
    name: 'Data for shops',
    note: 'Nothing. It has SKU, GTIN, names in every language, price grade, status, and addresses of pictures and files.',
    csv: 'CSV for spreadsheets',
    json: 'JSON',
    jsonld: 'JSON-LD for search engines',
  },
} as const;
