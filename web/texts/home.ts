import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the home page: lines with their products, and adding either. */
export const homeTexts = {
  heading: 'Lines and products',
  intro:
    'Dyeworks turns the 3D model of a product into one file, true to size, that shows every finish on offer, with pictures of each.',

  // lines
  lines: 'Lines',
  linesNote: 'Products of a line share its finishes, positions and rules.',
  noLines: 'There are no lines yet. Add one to sell several products in the same finishes.',
  rangeSize: (finishes: number) => `${count(finishes, 'finish', 'finishes')} in the range`,

  // products
  products: 'Products',
  empty: 'There are no products yet. Drop a model above to add the first one.',
  search: 'Search by code or name',
  allLines: 'All lines',
  withoutLine: 'Without a line',
  show: 'Show only',
  attention: 'Needs attention',
  outdated: 'Delivery out of date',
  found: (products: number, more: boolean) =>
    products === 0 ? 'No product matches.' : `${more ? 'The first ' : ''}${count(products, 'product')}.`,
  showAll: 'Show all products',
  showMore: 'Show more products',

  // a product
  pictureAlt: (name: string) => `${name}, three-quarter view`,
  noPicture: 'No picture yet',
  verdict: 'Verdict',
  schedule: 'Schedule',
  delivery: 'Delivery',
  measured: ', measured',
  variantCount: (variants: number) => (variants === 0 ? 'no variants yet' : count(variants, 'variant')),
  latestDelivery: (deliveries: number, outdated: boolean) =>
    `${count(deliveries, 'delivery', 'deliveries')}${outdated ? ', out of date' : ''}`,

  // adding a product
  addProduct: 'Add product',
  dropModel:
    'To add a product, drop its model anywhere on this page: a GLB or ZIP file, or a .gltf together with its files or in its folder.',
  dropAnother: (fileName: string) => `${fileName}. Drop another model to replace it.`,
  chooseAnother: 'Choose another file',
  newProduct: (fileName: string) => `New product from ${fileName}`,
  codeHint: 'Up to 64 letters, digits, dots, underscores or hyphens',
  classField: 'Class (for likely sizes)',
  measuring: 'Uploaded. Dyeworks is reading and measuring the model.',
  added: (name: string, size: string | null, parts: number) =>
    `${name} is added${size === null ? '' : `, ${size}`}, with ${count(parts, 'part')}.`,
  findings: (errors: number, warnings: number) => {
    if (errors > 0) return `${count(errors, 'finding')} ${errors === 1 ? 'blocks' : 'block'} its delivery.`;
    if (warnings > 0) return `${count(warnings, 'finding')} ${warnings === 1 ? 'needs' : 'need'} attention.`;
    return 'Nothing needs attention.';
  },
  openProduct: (name: string) => `Open ${name}`,

  // adding a line
  addLine: 'Add line',
  lineName: 'Line name',
  lineExists: (code: string) => `The line ${code} already exists. Choose another name.`,
  lineCode: (code: string) => `Code: ${code}`,
} as const;
