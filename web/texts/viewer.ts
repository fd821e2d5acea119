/** Texts of the viewer for shop pages. A shop replaces any of them with the property `texts`. */
export const viewerTexts = {
  /** Legend of the list of variants, where the file names no positions. */
  variants: 'Variants',
  /** What the picture shows, for people who cannot see it. */
  picture: (product: string, choice: string) => (choice === '' ? product : `${product}: ${choice}`),
  /** Said aloud after a choice. */
  chosen: (position: string, finish: string) => `${position}: ${finish}`,
  notMade: 'This combination of finishes is not made.',
  alsoChanged: (changes: string) => `This also changes ${changes}.`,
  product: 'Product',
  help: 'Drag or use the arrow keys to turn the product. Plus and minus enlarge it, Home shows it whole.',
  enlarge: 'Enlarge',
  reduce: 'Reduce',
  whole: 'Show whole product',
  fullScreen: 'Full screen',
  leaveFullScreen: 'Leave full screen',
  room: 'View in your room',
  loading: 'Loading the product …',
  noFile: 'The product cannot be loaded. Reload the page to try again.',
  noDecoder:
    'The product cannot be shown in 3D here: its textures need WebAssembly. The shop can allow it by adding ‘wasm-unsafe-eval’ to the policy for scripts.',
  noGraphics: 'This browser cannot show the product in 3D. The picture shows it.',
};

export type ViewerTexts = typeof viewerTexts;
