import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the view of a product. */
export const viewTexts = {
  section: 'View of the product',
  original: 'Original model',
  variantAlt: (variant: string) => `Product in the variant ${variant}`,
  productInVariant: (product: string, variant: string) => `${product}, ${variant}`,
  canvasLabel: (product: string) =>
    `${product}. Drag to turn. Arrow keys turn, Shift and arrow keys move, plus and minus zoom, F fits, Escape clears the choice of parts.`,
  help: 'Drag to turn, Shift and drag to move. Click the view to zoom with the wheel.',
  loading: 'The view is loading.',

  // directions and camera
  directions: 'View from',
  camera: 'Zoom',
  fit: 'Fit',
  zoomIn: 'Zoom in',
  zoomOut: 'Zoom out',

  // what is drawn
  shown: 'Show',
  dimensions: 'Dimensions',
  evenLight: 'Even grey light',
  evenLightHint: 'Light from all sides on neutral grey, without shade or shine: compare colours here.',
  fullScreen: 'Full screen',
  leaveFullScreen: 'Leave full screen',

  // variants side by side
  compare: 'Compare',
  stopComparing: 'Stop comparing',
  addVariant: 'Add a variant',
  removeVariant: (variant: string) => `Remove ${variant}`,
  compared: 'Variants side by side',

  // parts
  part: (part: string, slot: string) => `${part}, ${slot}`,
  noSlot: 'no slot',
  pickedPieces: (pieces: number) => (pieces === 0 ? 'No pieces chosen' : `${count(pieces, 'piece')} chosen`),
  lit: (slot: string) => `${slot} is outlined in the view.`,
  clearChoice: 'Clear',
  lasso: 'Lasso',
  addMore: 'Add more',
  allAlike: 'All alike',
  wholePart: 'Whole part',
  lassoHelp: 'Draw a line around the pieces. At least half of what you see of a piece must be inside.',

  // dimensions
  sides: { width: 'Width', depth: 'Depth', height: 'Height' },
  dimension: (side: string, length: string, unit: string) => `${side} ${length} ${unit}`,
  metre: '1 m',
  tenth: '100 mm',

  // without the live view
  failed: (reason: string) => `The live view does not work: ${reason}. Pictures are shown instead.`,
  noWebGl: 'it needs WebGL, which this browser does not provide',
  lost: 'the browser ended it; reload the page to try again',
  front: 'Front',
  side: 'Side',
  elevation: (name: string, length: string, height: string | null, unit: string) =>
    `${name} ${length}${height === null ? '' : `, height ${height}`} ${unit}`,
} as const;
