import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the product page, apart from readiness, schedule, contents and revisions, which have modules of their own. */
export const productTexts = {
  titleBlock: {
    mount: 'Mount',
    sheetSize: 'Data-sheet size, W × D × H in mm',
    sheetSide: { widthMm: 'Data-sheet width, mm', depthMm: 'Data-sheet depth, mm', heightMm: 'Data-sheet height, mm' },
    measuredSize: 'Measured size, W × D × H',
    upperBound: ', at most',
    model: 'Model',
    revision: (revision: number, size: string) => `Revision ${revision}, ${size}`,
    verdict: 'Verdict',
    budget: 'Budget',
  },

  slots: {
    heading: 'Slots',
    intro:
      'Each material of the model is a slot. Choose which finishes a slot may take, and what its part keeps when the finish changes.',
    columns: {
      slot: 'Slot',
      position: 'Position',
      options: 'Options',
      fixed: 'Fixed',
      keeps: 'Kept from the part',
    },
    triangles: (triangles: number) => count(triangles, 'triangle'),
    change: 'change',
    changePart: (label: string) => `Change the kept maps and the direction of ${label}`,
    keepsOf: (label: string) => `Kept from the part of ${label}`,
    relief: 'Relief',
    keepsAll: 'Everything kept',
    normalSentences: {
      'both-or-part': 'Seams kept, weave added',
      'both-or-finish': 'Weave shown, seams added',
      part: 'Seams kept, weave hidden',
      finish: 'Weave shown, seams hidden',
    },
    dropped: (maps: readonly string[]) => `without ${maps.join(', ')}`,
    direction: (degrees: number) => `direction ${degrees}°`,
    label: (slot: string) => `Label of ${slot}`,
    notInModel: ', not in this model',
    closeUp: 'Close-up',
    position: (label: string) => `Position of ${label}`,
    noPosition: 'None',
    fixedOptions: 'None (fixed)',
    finishCount: (finishes: number) => count(finishes, 'finish', 'finishes'),
    fixed: (label: string) => `${label} is fixed: its finish never changes`,
    optionsOf: (label: string) => `Options of ${label}`,
    sameAsPosition: (position: string) => `Same as position ${position}`,
    wholeRange: 'Whole range',
    normalMap: (label: string) => `Normal map of ${label}`,
    normalHint:
      'Where the relief comes from: the part (seams, stitches), the finish (weave, grain), or both combined. If they cannot be combined, the first one named is used.',
    normals: {
      'both-or-part': 'seams, plus weave',
      'both-or-finish': 'weave, plus seams',
      part: 'seams only',
      finish: 'weave only',
    },
    noSeams: ' The part’s own map has no seams.',
    keeps: {
      occlusion: { label: 'shading', hint: 'Keep the part’s occlusion map (baked shading)' },
      alpha: { label: 'holes', hint: 'Keep the part’s transparency: cane, mesh, perforated sheet' },
      detail: {
        label: 'pattern',
        hint: 'Keep the part’s neutral detail map: grain and weave under the finish’s colour',
      },
      wear: {
        label: 'wear',
        hint: 'Keep the variation of the part’s roughness map, at the gloss of the finish',
      },
    },
  },

  direction: {
    button: (label: string) => `Direction of ${label}`,
    grain: (degrees: number) => `grain lengthwise, ${degrees}°`,
    warp: (degrees: number) => `warp vertical, ${degrees}°`,
    use: (degrees: number) => `Use ${degrees}°`,
    useUnsure: (degrees: number) => `Use ${degrees}° (unsure)`,
    forSlot: (label: string) => ` for ${label}`,
    intro:
      'Angles are counter-clockwise, starting from the V axis of the UVs (up in the UV layout). They are added to the finish’s own direction. At 0°, grain and warp follow the V axis of the part.',
    degrees: 'Degrees',
    degreesOf: (label: string) => `Degrees of ${label}`,
    notAnAngle: (text: string) => `“${text}” is not an angle. Enter a number of degrees from −360 to 360.`,
    following: (directions: string) =>
      `The direction follows the part: ${directions}. An angle entered here replaces it for every finish.`,
    noProposal: (reason: string) => `No proposal. ${reason}`,
    proposal: (degrees: number, isWeak: boolean, reason: string) =>
      `Proposed: ${degrees}°${isWeak ? ' (unsure, please check)' : ''}. ${reason}`,
    noDirectedFinish: 'No finish of this slot has a direction.',
    noUvs: 'The part has no UVs, so a finish cannot be given a direction.',
    followPart: 'Follow the part',

    // drawing
    fromView: { front: 'from the front', side: 'from the side', back: 'from the back', top: 'from above' },
    drawingAlt: (label: string, view: string) => `${label} ${view}`,
    drawing: (label: string, view: string, degrees: number, proposed: number | null) =>
      `Direction on ${label}, ${view}: ${degrees}°${proposed === null ? '' : `, proposed ${proposed}°`}`,
    drawingCaption: (view: string, hasProposal: boolean) =>
      `Grain or warp on the most visible piece, ${view}.${hasProposal ? ' The dashed line is the proposal.' : ''}`,
    mixedDirections: (view: string) =>
      `The UVs of the most visible piece ${view} run in several directions, so the grain does too.`,
  },

  deliveries: {
    heading: 'Deliveries',
    intro: 'A delivery is one GLB with every variant of the saved schedule. It never changes afterwards.',
    columns: { number: 'No.', created: 'Created', variants: 'Variants', size: 'Size', files: 'Files' },
    glb: 'GLB',
    manifest: 'Manifest',
    ofDelivery: (delivery: number) => ` of delivery ${delivery}`,
    none: 'No deliveries yet.',
    note: 'Note',
    withdraw: 'Withdraw …',
    withdrawNow: (delivery: number) => `Withdraw delivery ${delivery}`,
    withdrawalWarning: (delivery: number) =>
      `Withdrawing delivery ${delivery} cannot be undone. Its files cannot be downloaded any more. The list keeps it with your reason. Shops that use the current delivery get the one before it.`,
    reason: 'Reason',
    withdrawn: (date: string, reason: string) => `Withdrawn on ${date}: ${reason}`,
    changesSince: (delivery: number) => `Changes since delivery ${delivery}`,
    outdated: (variants: number) =>
      variants > 0 ? `Out of date: ${count(variants, 'variant differs', 'variants differ')}.` : 'Out of date.',
    upToDate: (delivery: number) => `Nothing differs. Delivery ${delivery} is up to date.`,
    breaking: 'Shops must adapt: ',
    newFindings: 'New findings',
    forGood: 'A delivery keeps its number and its files for good. This cannot be undone.',
    stands: (delivery: number) => `Nothing has changed since delivery ${delivery}. Dyeworks made no new one.`,
    /** Sentences that stand for several changes of one kind. */
    grouped: {
      'variant-added': (n: number) => count(n, 'variant is new', 'variants are new'),
      'variant-withdrawn': (n: number) => count(n, 'variant is withdrawn', 'variants are withdrawn'),
      'variant-renamed': (n: number) => count(n, 'variant has another name', 'variants have another name'),
      'variant-choices': (n: number) => count(n, 'variant has another finish', 'variants have other finishes'),
      'variant-gtin': (n: number) => count(n, 'variant has another GTIN', 'variants have another GTIN'),
    },
    variantNames: 'Variant names',
    namedBy: { name: 'Names', code: 'Codes' },
    deliver: 'Deliver',
    delivering: 'Delivering',
    saveFirst: 'Save the schedule first. A delivery uses the saved schedule.',
    noVariants: 'The schedule has no variants yet.',
    done: (delivery: number, findings: number) =>
      `Delivery ${delivery} is ready${findings > 0 ? `, with ${count(findings, 'finding')}` : ''}.`,
  },

  pictures: {
    heading: 'Pictures',
    intro:
      'PNG and WebP pictures have a transparent background, JPEG pictures a white one. They are stored with permanent URLs.',
    noVariants: 'The schedule has no variants yet. Add one, or choose a check set.',
    make: 'Make pictures',
    rows: 'Variants',
    rowKinds: {
      all: 'All variants in the schedule',
      'each-finish': 'Check set: each finish once',
      pairs: 'Check set: every allowed pair once',
    },
  },

  sheets: {
    heading: 'Sheets',
    intro: 'Printed from the saved schedule. Colours in print are indicative; approve a finish by a physical sample.',
    schedule: 'Printable schedule, as saved',
    compact: 'Compact schedule, up to 32 variants per page',
    checkSet: 'Printable check set, each finish once',
    catalogue: 'Catalogue data: ',
    catalogueLink: 'schedule, finish data, swatches and pictures as one ZIP file',
    catalogueNote: '. The file is created while it downloads.',
  },

  pictureSets: {
    heading: 'Picture sets',
    intro: 'A picture set defines the pictures for one recipient. Running it again makes only the outdated files.',
    noVariants: 'The schedule has no variants yet. Add one first.',
    edit: 'Edit picture sets',
    columns: { set: 'Set', subject: 'Subject', format: 'Size and format', files: 'Files', made: 'Made' },
    actions: 'Actions',
    make: 'Make',
    makeFiles: (files: number) => `Make ${count(files, 'file')}`,
    allMade: 'All made',
    zip: 'ZIP',
    ofSet: (name: string) => ` of ${name}`,
    cancelSet: (name: string) => ` ${name}`,
    loadingFiles: 'Loading the list of files.',
    noFiles: 'This set has no files for this product.',
    notMade: 'not made yet',
    nothingToMake: 'There are no files to make.',
    allExist: 'All files already exist.',
    existing: (files: number) => ` ${count(files, 'file')} already existed.`,
    progress: 'Files made',
  },
} as const;

/** Texts of a product's preparation, of its model's revisions, and of a newer export that arrives. */
export const revisionsTexts = {
  // preparation
  preparation: 'Preparation',
  noSteps: 'No steps. Newer exports are used as received.',
  stepsIntro: (steps: number) =>
    `${count(steps, 'step')}, applied in this order to every newer export of this product.`,
  unfitSteps: 'Steps that could not be applied',
  replay: 'Apply again to the received model',
  replaying: 'Applying the steps and measuring the result. A large model takes about a minute.',
  differs: 'The current revision was made with different steps.',
  saveSteps: 'Save steps',
  replayed: (revision: number) => `Revision ${revision} is saved, made again from the received model`,
  up: 'Up',
  down: 'Down',
  ofStep: (step: number) => ` step ${step}`,

  // a newer export
  arrived: (revision: number) => `Revision ${revision} has arrived`,
  uploading: 'Model upload',
  measuring: 'Uploaded. Dyeworks is reading, measuring and preparing the model. A large model takes about a minute.',
  notCurrent: (size: string) => `${size}. This revision is not current until you choose it.`,
  preparationOf: (steps: number) => `Preparation, ${count(steps, 'step')}`,
  verdict: 'Verdict: ',
  use: 'Use this revision',
  switching: 'Switching to this revision.',
  isCurrent: (revision: number) => `Revision ${revision} is now current.`,
  keptCurrent: (revision: number) =>
    `Nothing has changed. You can choose revision ${revision} later in the list of revisions.`,

  // revisions
  model: 'Model',
  noModel: 'No model yet.',
  modelIntro: 'Each export and each set of repairs is a revision. Slots, options and schedule stay when you switch.',
  columns: {
    number: 'No.',
    origin: 'Origin',
    date: 'Date',
    size: 'Size, W × D × H',
    triangles: 'Triangles',
    draws: 'Draw calls',
    bytes: 'File size',
    file: 'File',
    current: 'Current',
  },
  glb: 'GLB',
  ofRevision: (revision: number) => ` of revision ${revision}`,
  current: 'Current',
  goBack: 'Go back to this revision',
  revisionNumber: (revision: number) => `, revision ${revision}`,
  dropFirst:
    'The product has no model yet. Drop one anywhere on this page: GLB, self-contained glTF, or a ZIP file of a .gltf with its files.',
  dropNewer: 'Drop a newer export anywhere on this page. Dyeworks shows what changes before you use it.',
  uploadRunning: 'A model is being uploaded. See the top of this page.',

  // removing the product
  deleteProduct: 'Delete product',
  deleteQuestion: (code: string) => `Delete ${code} with its models, schedule and deliveries? This cannot be undone.`,
} as const;
