import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the home page: lines with their products, and adding either. */
export const homeTexts = {
  heading: 'Lines and products',
  empty: 'There are no products yet. Drop a model below to add the first one.',

  // a line
  noLine: 'Without a line',
  lineFigures: (finishes: number) => `${count(finishes, 'finish', 'finishes')} in the range, `,
  productFigures: (products: number, toScale: boolean) =>
    `${count(products, 'product')}${toScale ? ', drawn at the same scale' : ''}`,
  noProducts: 'No products yet.',

  // a product
  pictureAlt: (name: string) => `${name}, three-quarter view`,
  verdict: 'Verdict',
  schedule: 'Schedule',
  delivery: 'Delivery',
  measured: ', measured',
  enlarged: (times: number) => `, enlarged ${times.toFixed(1)}×`,
  variantCount: (variants: number) => (variants === 0 ? 'no variants yet' : count(variants, 'variant')),
  latestDelivery: (delivery: number) => `no. ${delivery}`,

  // adding a product
  addProduct: 'Add product',
  dropModel:
    'To add a product, drop its model anywhere on this page: GLB, self-contained glTF, or a ZIP file of a .gltf with its files.',
  newProduct: (fileName: string) => `New product from ${fileName}`,
  codeHint: 'Up to 64 letters, digits, dots, underscores or hyphens',
  classField: 'Class (for likely sizes)',
  measuring: 'Uploaded. Dyeworks is reading and measuring the model.',

  // adding a line
  addLine: 'Add line',
  lineName: 'Line name',
  lineExists: (code: string) => `The line ${code} already exists. Choose another name.`,
  lineCode: (code: string) => `Code: ${code}`,
} as const;
