/** What markup for a shop's page needs. */
export interface Embedded {
  /** Address of the service, without a slash at its end. */
  readonly origin: string;
  readonly product: string;
  /** A delivery, or `current` for the newest one. */
  readonly delivery: number | 'current';
  /** Name of the product, for people who cannot see it. */
  readonly name: string;
  /** Code of the default variant. */
  readonly variant: string;
}

/** Widths of the picture, px: phones and desks, at one and two pixels per CSS pixel. */
const WIDTHS = [480, 960, 1440];
/** The picture fills a phone, and half of a desk. */
const SIZES = '(max-width: 48rem) 100vw, 50vw';

/** The viewer, in three lines. */
export function writeViewer(embedded: Embedded): string {
  const { name } = embedded;
  const path = writePath(embedded);
  return [
    '<script type="module" src="dyeworks-viewer/dyeworks-viewer.js"></script>',
    `<dyeworks-viewer src="${path}/model.glb" manifest="${path}/manifest.json"`,
    `  poster="${writePicture(embedded, 'jpg', WIDTHS[1]!)}" usdz="${path}/variants/{code}.usdz" alt="${escapeMarkup(name)}"></dyeworks-viewer>`,
  ].join('\n');
}

/** The picture of the default variant in several sizes, for pages without script. */
export function writePictures(embedded: Embedded): string {
  const list = (format: 'webp' | 'jpg') =>
    WIDTHS.map((width) => `${writePicture(embedded, format, width)} ${width}w`).join(', ');
  return [
    '<picture>',
    `  <source type="image/webp" sizes="${SIZES}" srcset="${list('webp')}">`,
    `  <img src="${writePicture(embedded, 'jpg', WIDTHS[1]!)}" sizes="${SIZES}" srcset="${list('jpg')}"`,
    `    width="${WIDTHS[1]}" height="${WIDTHS[1]}" alt="${escapeMarkup(embedded.name)}">`,
    '</picture>',
  ].join('\n');
}

/** A whole page with the viewer, and the picture for browsers without script. */
export function writePage(embedded: Embedded): string {
  const name = escapeMarkup(embedded.name);
  return [
    '<!doctype html>',
    '<html lang="en">',
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width">',
    `<title>${name}</title>`,
    `<h1>${name}</h1>`,
    writeViewer(embedded),
    '<noscript>',
    writePictures(embedded),
    '</noscript>',
    '</html>',
    '',
  ].join('\n');
}

const writePath = ({ origin, product, delivery }: Embedded): string =>
  `${origin}/api/products/${encodeURIComponent(product)}/deliveries/${delivery}`;

const writePicture = ({ origin, product, variant }: Embedded, format: 'webp' | 'jpg', width: number): string =>
  `${origin}/api/products/${encodeURIComponent(product)}/pictures/${encodeURIComponent(variant)}.${format}?size=${width}`;

const escapeMarkup = (text: string): string =>
  text.replace(/[&<>"]/g, (sign) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[sign]!);
