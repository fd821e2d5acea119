/** A PNG of one white grey pixel, for image indices that must stay although nothing refers to them. */
const WHITE_PIXEL = 'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEAsTj2FAAAAABJRU5ErkJggg==';

export function placeholderPng(): Uint8Array {
  return Buffer.from(WHITE_PIXEL, 'base64');
}
