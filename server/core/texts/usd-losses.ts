import type { UsdLossCode } from '../delivery/usd-form.ts';

/** What a file in USD loses, in the words of the pages and of the list of files. */
export const USD_LOSS_TEXTS: Readonly<Record<UsdLossCode, string>> = {
  pose: 'The product keeps still, in its first pose. Animations, skins and morph targets are left out.',
  sheen: 'The soft edge of cloth (sheen) is left out. Velvet and wool look flatter.',
  transmission: 'Clear materials become plainly transparent. They do not bend light.',
  volume: 'The tint that a clear material gets from its thickness is left out.',
  anisotropy: 'The direction of brushed metal is left out. Highlights are round.',
  iridescence: 'Colours that change with the view (iridescence) are left out.',
  dispersion: 'Clear materials do not split light into colours.',
  specular: 'A changed strength or colour of reflections is left out.',
  'diffuse-transmission': 'Light does not shine through thin materials.',
  'clearcoat-normal': 'The relief of a clear coat is left out. The coat is smooth.',
  'emissive-strength': 'A glowing map is no brighter than white.',
  unlit: 'Materials that ignore light become glowing ones.',
  'vertex-colours': 'Colours of vertices are left out where a map gives the colour.',
  'unknown-shading': 'A property of a material that Dyeworks does not know is left out.',
  'unreadable-map': 'An image could not be read. Its material has a plain value instead.',
  'reduced-map': 'Larger textures are reduced to 2048 pixels.',
  'mixed-slots': 'A part that no single slot decides keeps the material of the default variant.',
};
