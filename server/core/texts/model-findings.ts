// Long because it is one catalogue: it has every message of its subject, so that people can read, check and translate
// it.
import {
  capitalise,
  count,
  describeUnit,
  formatBytes,
  formatMm,
  formatNumber,
  formatPercent,
  formatSize,
  formatWholeMm,
  listNames,
  pick,
} from './format-text.ts';

interface Size {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

interface OverBudget {
  /** The budget's label. */
  readonly budget: string;
  readonly limit: number;
  /** Whether the limit is a maximum, or only recommended. */
  readonly isMaximum: boolean;
}

interface DamagedValues {
  readonly values: number;
  /** What is damaged: a property in words. */
  readonly what: string;
  /** The first place, its value, the expected value, and the replacement (null: none). */
  readonly place: string;
  readonly seen: string;
  readonly expected: string;
  readonly used: string | null;
  /** Whether it may change the look of the product. */
  readonly isVisible: boolean;
}

/** Messages of the findings on models, by code; a colon separates the code from the case. Each takes figures. */
export const MODEL_FINDINGS = {
  // size and place
  'unit-slip': ({
    size,
    readings,
    fits,
  }: {
    readonly size: Size;
    readonly readings: readonly { readonly unit: string; readonly size: Size; readonly factor: number }[];
    readonly fits: string;
  }) =>
    `The model measures ${formatSize(size)}. ${readings.map((reading) => `If ${describeUnit(reading.unit)}, it is ${formatSize(reading.size)}.`).join(' ')} ${
      readings.length > 1
        ? `Each of these fits ${fits}. Ask the supplier which unit was used, then scale by that factor.`
        : `This fits ${fits}. Scale it by ${formatFactor(readings[0]!.factor)}, or export it in metres.`
    }`,
  'size-off-sheet': ({
    measured,
    sheet,
    isExact,
    scaled,
    off,
  }: {
    readonly measured: Size;
    readonly sheet: Size;
    readonly isExact: boolean;
    /** The size at the height of the data sheet, where the proportions match. */
    readonly scaled: { readonly factor: number; readonly size: Size } | null;
    /** Sides that differ, and by how much: above 0 is too large. */
    readonly off: readonly { readonly side: string; readonly mm: number }[];
  }) => {
    const bound = isExact
      ? ''
      : ' The true size may be smaller, because compressed parts that are rotated cannot be measured exactly.';
    const sides = off.map(
      ({ side, mm }) => `the ${side} is ${formatWholeMm(Math.abs(mm))} mm too ${mm > 0 ? 'large' : 'small'}`,
    );
    const next = scaled
      ? `The proportions match: scaled by ${formatFactor(scaled.factor)} to the height on the sheet, the model measures ${formatSize(scaled.size)}. Scale it, or correct the sheet.`
      : `No unit explains the difference: ${sides.join(', ')}. Correct the data sheet, or ask for the right model.`;
    return `The model measures ${formatSize(measured)}. The data sheet says ${formatSize(sheet)} (width × depth × height).${bound} ${next}`;
  },
  'size-implausible': ({ size, usual }: { readonly size: Size; readonly usual: string }) =>
    `The model measures ${formatSize(size)}, which is unusual for ${usual}. Enter the dimensions of the data sheet, which then apply instead, or check the product class.`,
  'size-implausible:any': ({ size }: { readonly size: Size }) =>
    `The model measures ${formatSize(size)}, and no unit turns that into ${SOLD_SIZES}. Enter the dimensions of the data sheet, which then apply instead, or ask for the model in metres.`,
  'off-mount': ({
    mount,
    contactM,
    centre,
  }: {
    readonly mount: Mount;
    /** Where the part that touches the mount is, metres; null where it is right. */
    readonly contactM: number | null;
    readonly centre: { readonly metres: number; readonly share: number; readonly axis: string } | null;
  }) => {
    const { stands, part } = MOUNTS[mount];
    const faults = [
      ...(contactM === null ? [] : [`its ${part} is at ${formatMm(contactM)} instead of 0 mm`]),
      ...(centre
        ? [
            `its centre is ${formatMm(centre.metres)} from the origin along ${centre.axis} (${formatPercent(centre.share)} of that side)`,
          ]
        : []),
    ];
    return `The product ${stands}, but ${faults.join(', and ')}. Place the model, or correct the mount.`;
  },

  // structure and geometry
  'nothing-to-draw': () =>
    'The scene has no triangles, so nothing can take a finish. Export the model with its meshes in the scene.',
  'nothing-to-draw:unreadable': ({ reason }: { readonly reason: string }) => reason,
  'scene-lists-child': () =>
    'A scene lists a node that has a parent. glTF does not allow this, and some viewers draw such a node twice. Dyeworks can fix the scene without changing the geometry.',
  'unbaked-transform': ({
    parts,
    negative,
    uneven,
    isAnimated,
  }: {
    readonly parts: number;
    readonly negative: number;
    readonly uneven: number;
    readonly isAnimated: boolean;
  }) => {
    const kinds = [
      ...(negative > 0 ? [`${formatNumber(negative)} mirrored by a negative scale`] : []),
      ...(uneven > 0 ? [`${formatNumber(uneven)} scaled unevenly`] : []),
    ];
    return `${count(parts, 'part')} ${pick(parts, 'is', 'are')} rotated or scaled by a node${kinds.length > 0 ? ` (${kinds.join(', ')})` : ''}. Viewers show this correctly. Bake the transforms into the geometry if a recipient asks for it, as the Khronos asset creation guidelines do.${
      isAnimated ? ' The model is animated: Dyeworks asks before it removes an animation.' : ''
    }`;
  },
  'many-pieces': ({ draws, materials }: { readonly draws: number; readonly materials: number }) =>
    `The model has ${formatNumber(draws)} separate parts of ${count(materials, 'material')}, and each part takes a draw call. Merged by material, it takes about ${count(materials, 'draw call')} and looks the same.`,
  'one-material-many-pieces': ({
    label,
    share,
    pieces,
    groups,
    ways,
    isOneMaterial,
  }: {
    readonly label: string;
    readonly share: number;
    readonly pieces: number;
    /** The surest way to group the pieces; null where nothing tells them apart. */
    readonly groups: { readonly by: GroupedBy; readonly names: readonly string[]; readonly left: number } | null;
    /** How many ways to group them there are. */
    readonly ways: number;
    readonly isOneMaterial: boolean;
  }) => {
    const found = groups
      ? `${GROUPED_BY[groups.by](groups.names.length)}: ${listNames(groups.names)}${groups.left > 0 ? `; ${count(groups.left, 'piece')} would stay together` : ''}.`
      : 'Names, shapes and colours do not tell the pieces apart.';
    const separate = `Separate them${ways > 1 ? ' this way or another' : ''}, or select the pieces by hand.`;
    const next = isOneMaterial
      ? 'The name suggests one material, so separate only parts that change on their own.'
      : ways === 0
        ? 'Select the pieces of each part by hand.'
        : separate;
    return `${capitalise(label)} covers ${formatPercent(share)} of the surface and ${count(pieces, 'piece')}, so all of it changes finish together. ${found} ${next}`;
  },
  'shared-mesh': ({ meshes }: { readonly meshes: number }) =>
    `${count(meshes, 'mesh', 'meshes')} ${pick(meshes, 'is', 'are')} used by several nodes, so those parts change finish together. Give each part a mesh of its own if the parts change separately.`,
  'hidden-content': ({ parts }: { readonly parts: number }) =>
    `${count(parts, 'part')} in the scene ${pick(parts, 'is', 'are')} invisible (scaled to zero, or hidden) but ${pick(parts, 'adds', 'add')} to the file size. Export only the parts that are visible.`,
  'broken-geometry': ({ fault, count: n }: { readonly fault: GeometryFaultKind; readonly count: number }) =>
    GEOMETRY_FAULTS[fault](n),
  'geometry-undecodable': () =>
    'The compressed geometry of the model is damaged and cannot be decoded, so viewers refuse the whole file. Export the model again with another compression, or with none.',
  'missing-normals': ({ primitives }: { readonly primitives: number }) =>
    `${count(primitives, 'primitive')} ${pick(primitives, 'has', 'have')} no normals, so viewers shade ${pick(primitives, 'it', 'them')} with flat facets. Export the part with normals unless it is meant to be faceted.`,
  'faces-inward': ({
    pieces,
    byVolume,
    byView,
    byNormals,
  }: {
    readonly pieces: number;
    readonly byVolume: number;
    readonly byView: number;
    readonly byNormals: number;
  }) => {
    const ways = [
      ...(byVolume > 0 ? [`${byVolume} with a negative volume`] : []),
      ...(byView > 0 ? [`${byView} with only backs visible`] : []),
      ...(byNormals > 0 ? [`${byNormals} with normals against the winding order`] : []),
    ];
    return `${count(pieces, 'piece')} ${pick(pieces, 'faces', 'face')} inward (${ways.join(', ')}). Viewers hide the near side or light it from behind, so ${pick(pieces, 'it looks', 'they look')} hollow or nearly black in every finish. Turn ${pick(pieces, 'it', 'them')} outward.`;
  },
  'faces-inward:doubtful': ({ pieces }: { readonly pieces: number }) =>
    `${count(pieces, 'piece')} mostly ${pick(pieces, 'shows its back', 'show their backs')} from all sides, and viewers do not draw backs here. This is right for the walls of a room. Turn anything else outward.`,

  // materials
  'unnamed-material': ({ proposal }: { readonly proposal: string }) =>
    `This material has no name, so its slot is found again only by its place in the file. Name it, for example “${proposal}”.`,
  'duplicate-material-name': ({
    materials,
    label,
    names,
  }: {
    readonly materials: number;
    readonly label: string;
    /** Proposed names of all but the first. */
    readonly names: readonly string[];
  }) =>
    `${count(materials, 'material')} are named ${label}. Their slots are numbered in the order of the file, which the next export may change. The first keeps the name, and the ${pick(names.length, 'other becomes', 'others become')} ${listNames(names)}.`,
  'metal-on-nonmetal': ({
    label,
    metalness,
    reason,
    isSure,
    looksMetallic,
  }: {
    readonly label: string;
    readonly metalness: number;
    readonly reason: MetalDoubt;
    readonly isSure: boolean;
    /** Whether colour and gloss could be a metal's although a name says otherwise. */
    readonly looksMetallic: boolean;
  }) =>
    `${capitalise(label)} has metalness ${metalness.toFixed(2)}, ${METAL_DOUBTS[reason]}${looksMetallic ? '; its colour and gloss could be a metal’s' : ''}. ${
      isSure
        ? 'Set it to 0 where there is no metal; a metallic finish sets its own.'
        : 'Set it to 0 if this is not metal.'
    }`,
  'animated-material': ({ label }: { readonly label: string }) =>
    `An animation changes ${label}. It still changes the material of the model, but not the finishes on it.`,
  'vertex-colours-tint': ({ primitives }: { readonly primitives: number }) =>
    `${count(primitives, 'primitive')} ${pick(primitives, 'has', 'have')} vertex colours, which would tint every finish. They are removed where a slot takes finishes.`,

  // maps
  'colour-map-blocks-recolour': ({
    label,
    content,
  }: {
    readonly label: string;
    /** Null where the map cannot be read. */
    readonly content: { readonly hex: string; readonly deltaE: number; readonly isPatterned: boolean } | null;
  }) =>
    `${capitalise(label)} has a colour map. A finish replaces it, so anything painted into the map is not shown. ${
      !content
        ? 'Dyeworks cannot read the map.'
        : content.isPatterned
          ? `The map has a pattern: its texels differ from their mean ${content.hex} by ΔE ${content.deltaE.toFixed(1)} on average. To keep the pattern under every finish, convert the map to neutral detail, which removes its hue.`
          : `The map is nearly one colour (${content.hex}), so the loss is small.`
    }`,
  'alpha-in-colour-map': ({ label }: { readonly label: string }) =>
    `The alpha of the colour map of ${label} shapes the part. It is kept under every finish.`,
  'alpha-in-colour-map:whole': () =>
    'This colour map shapes its part by alpha, but the alpha cannot be separated from the colour. The whole map stays and tints the finishes on the part. Export the map as PNG.',
  'implausible-map': ({ unit, outward }: { readonly unit: number; readonly outward: number }) =>
    `This normal map does not look like one: ${formatPercent(unit)} of its texels have unit length, and ${formatPercent(outward)} point out of the surface. Export it as a tangent-space map with blue up, or let the slot show the finish’s normal map.`,
  'implausible-map:metalness': ({ label, mean }: { readonly label: string; readonly mean: number }) =>
    `The metalness map of ${label} is ${mean.toFixed(2)} everywhere, which is neither metal (1) nor non-metal (0). A finish sets its own metalness, but a part that keeps its material looks like neither.`,
  'missing-map': ({
    roughness,
    normal,
  }: {
    /** Names of the materials without a roughness map, and without a normal map. */
    readonly roughness: readonly string[];
    readonly normal: readonly string[];
  }) => {
    const missing = (
      [
        ['roughness', roughness],
        ['normal', normal],
      ] as const
    ).flatMap(([map, names]) =>
      names.length > 0 ? [`${listNames(names)} ${pick(names.length, 'has', 'have')} no ${map} map.`] : [],
    );
    return `${missing.join(' ')} Finishes bring their own maps, but only the part’s own normal map shows its seams and stitches.`;
  },
  'constant-map': ({ hex }: { readonly hex: string }) =>
    `Every pixel of this image is ${hex}. A factor of the material does the same without an image.`,
  'image-undecodable': ({ reason }: { readonly reason: string }) =>
    `Dyeworks cannot read this image: ${reason}. Viewers may show the part without it. Export the model again with this image as PNG or JPEG.`,
  'image-undecodable:damaged': ({ reason }: { readonly reason: string }) =>
    `This image cannot be decoded: ${reason}. Deliveries and pictures are made without it. Export the model again with an intact image.`,
  'image-misplaced': ({ isKtx2 }: { readonly isKtx2: boolean }) =>
    isKtx2
      ? 'A texture uses this KTX2 image without the extension KHR_texture_basisu, so viewers cannot decode it. Deliveries and pictures use the extension. Ask for an export that does, too.'
      : 'A texture declares this image as KTX2, but it has another format, so viewers cannot decode it. Deliveries and pictures declare the right format. Ask for a corrected export.',
  'texture-quality': ({ quality }: { readonly quality: number }) =>
    `This JPEG was saved at a quality of about ${quality}. Common practice is 80–90 for the web and 90–100 for masters. Ask for a better image if you can see its blocks. Saving it again does not restore what is lost.`,
  'texture-too-large': ({
    widthPx,
    heightPx,
    budget,
    limitPx,
    canResize,
  }: {
    readonly widthPx: number | null;
    readonly heightPx: number | null;
    readonly budget: string;
    readonly limitPx: number;
    readonly canResize: boolean;
  }) =>
    `This image is ${widthPx} × ${heightPx} px. ${budget} allows at most ${limitPx} px. ${
      canResize
        ? 'Dyeworks can make it smaller.'
        : 'Dyeworks cannot write images of this format: ask for a smaller one.'
    }`,

  // UVs
  'missing-uv': ({
    label,
    bare,
    all,
    texCoord,
  }: {
    readonly label: string;
    /** Parts without UVs, of all parts of the material. */
    readonly bare: number;
    readonly all: number;
    /** The set its maps use. */
    readonly texCoord: number;
  }) =>
    `${bare === all ? `The parts of ${label} have` : `${formatNumber(bare)} of the ${formatNumber(all)} parts of ${label} ${pick(bare, 'has', 'have')}`} no UVs${
      texCoord > 0 ? ` in TEXCOORD_${texCoord}, which its maps use` : ''
    }, so finishes show their colour and gloss there, but no weave or grain. Export the part with UVs, or generate box UVs.`,
  'uv-scale-unknown': ({ label }: { readonly label: string }) =>
    `The size of the UVs of ${label} on the part cannot be measured. Maps are placed as if one UV unit were one metre, and may come out at the wrong size. Export the part with UVs that cover it, or generate box UVs.`,
  'uneven-density': ({
    label,
    low,
    high,
    off,
    tolerance,
    finest,
    coarsest,
    ownMaps,
  }: {
    readonly label: string;
    /** Sizes of a repeat, 1 is true: 5 % of the area is below `low`, and 5 % above `high`. */
    readonly low: number;
    readonly high: number;
    /** Share of the surface beyond the tolerance. */
    readonly off: number;
    readonly tolerance: number;
    /** Pieces that differ most; null where the density changes within one piece. */
    readonly finest: UvPieces | null;
    readonly coarsest: UvPieces | null;
    /** Maps of the part that box UVs would move. */
    readonly ownMaps: number;
  }) =>
    `On ${label}, a repeat comes out at ${Math.round(low * 100)} to ${formatPercent(high)} of its true size, and ${formatPercent(off)} of the surface is off by more than ${formatPercent(tolerance)}. ${
      finest && coarsest
        ? `One UV unit is ${describeUvPieces(finest)} and ${describeUvPieces(coarsest)}.`
        : 'The density changes within one piece.'
    } Unwrap the part at one density, or generate box UVs.${
      ownMaps > 0
        ? ` Box UVs move ${pick(ownMaps, 'the map', `the ${count(ownMaps, 'map')}`)} of the part away from where ${pick(ownMaps, 'it was', 'they were')} painted.`
        : ''
    }`,
  'uv-overlap': ({ label, share }: { readonly label: string; readonly share: number }) =>
    `${formatPercent(share)} of the UV area of ${label} is covered more than once. This is right for mirrored or tiled parts, and wrong for a map that is painted or baked for each place.`,
  'uv-stretch': ({ label, stretch }: { readonly label: string; readonly stretch: number }) =>
    `Maps on ${label} come out ${stretch.toFixed(1)} times as long as wide on average, so weave and grain are stretched. Unwrap the part evenly.`,

  // budget
  'file-too-heavy': ({
    bytes,
    causes,
    sizePx,
    imagesWeigh,
    ...over
  }: OverBudget & {
    readonly bytes: number;
    readonly causes: readonly { readonly cause: string; readonly bytes: number }[];
    /** Texture size that brings the file near the limit. */
    readonly sizePx: number | null;
    readonly imagesWeigh: boolean;
  }) =>
    `The file is ${formatBytes(bytes)}. ${describeLimit(over)} ${formatBytes(over.limit)}. Largest shares: ${causes.map((item) => `${item.cause} ${formatBytes(item.bytes)}`).join(', ')}. ${
      sizePx !== null
        ? `Textures of at most ${sizePx} px bring it near that (estimated).`
        : imagesWeigh
          ? 'The images take most of the file but cannot be reduced further here. Ask the supplier for smaller ones.'
          : 'The images are not the cause: ask for an export with fewer triangles or with compressed geometry.'
    }`,
  'too-many-triangles': ({ triangles, ...over }: OverBudget & { readonly triangles: number }) =>
    `The scene has ${formatNumber(triangles)} triangles. ${describeLimit(over)} ${formatNumber(over.limit)}. Fewer triangles change the shape, so Dyeworks has no repair for this: ask for a lighter export, or choose another budget.`,
  'too-many-draws': ({
    draws,
    materials,
    canMerge,
    ...over
  }: OverBudget & {
    readonly draws: number;
    readonly materials: number;
    readonly canMerge: boolean;
  }) =>
    `The scene takes ${formatNumber(draws)} draw calls. ${describeLimit(over)} ${formatNumber(over.limit)}. ${
      canMerge
        ? `Merged by material, it takes about ${count(materials, 'draw call')}.`
        : `It has ${count(materials, 'material')}, and each takes a draw call: join materials that always change together.`
    }`,

  // the file
  validator: ({
    errors,
    isAtLeast,
    first,
    isScene,
  }: {
    readonly errors: number;
    readonly isAtLeast: boolean;
    readonly first: string | null;
    /** Whether the error is one of the scene, which a repair fixes. */
    readonly isScene: boolean;
  }) =>
    `The glTF validator reports ${isAtLeast ? 'at least ' : ''}${count(errors, 'error')}.${first === null ? '' : ` The first: ${first}`} ${
      isScene
        ? 'Dyeworks can fix the scene.'
        : 'Export the model again without the errors, or test the delivered file in the viewer it is meant for.'
    }`,
  'preparation-step-unfit': ({ step, message }: { readonly step: number; readonly message: string }) =>
    `Step ${step} of the preparation no longer fits this model: ${message} Change the step, or remove it from the preparation.`,
  'loose-files': () =>
    'The model arrived as a .gltf file or a ZIP file, and was packed into one binary file. The original is kept, too. Ask for a .glb next time, so that no part of it can be lost.',
  'unknown-extension': ({
    names,
    required,
  }: {
    readonly names: readonly string[];
    readonly required: readonly string[];
  }) =>
    `Dyeworks does not know ${pick(names.length, 'the extension', 'the extensions')} ${names.join(', ')}. ${pick(names.length, 'It is', 'They are')} passed on unchanged, and Dyeworks removes nothing from the file. ${
      required.length > 0
        ? `The file requires ${required.join(', ')} of every viewer: ask for an export without it.`
        : `Dyeworks asks before a repair of the geometry drops ${pick(names.length, 'it', 'them')}.`
    }`,
  'carries-variants': ({ variants }: { readonly variants: number }) =>
    `The model arrived with ${count(variants, 'variant')}. A delivery replaces ${pick(variants, 'it', 'them')} with those of the schedule. Import ${pick(variants, 'it', 'them')} to get finishes and a schedule.`,
  'carries-animation': ({ animations }: { readonly animations: number }) =>
    `The model has ${count(animations, 'animation')}. Finishes leave ${pick(animations, 'it', 'them')} unchanged, and pictures show the pose of the file. Dyeworks asks before a repair of the geometry drops one.`,
  'unused-content': ({
    kinds,
    bytes,
    all,
  }: {
    readonly kinds: readonly string[];
    readonly bytes: number;
    readonly all: number;
  }) =>
    `The scene does not use ${kinds.join(', ')} (${formatBytes(bytes)} of ${formatBytes(all)}). Removing them changes nothing that is visible.`,
  'dead-bytes': ({ bytes, all }: { readonly bytes: number; readonly all: number }) =>
    `${formatBytes(bytes)} of ${formatBytes(all)} in the file are not used. Removing them changes nothing that is visible.`,
  'dead-bytes:kept': ({ bytes }: { readonly bytes: number }) =>
    `${formatBytes(bytes)} of images are no longer shown. They stay in the file because an unknown extension may use them.`,

  // values that Dyeworks replaced while reading
  'damaged-value': describeDamagedValues,
  'dangling-reference': describeDamagedValues,
  'damaged-animation': ({ parts, animations }: { readonly parts: number; readonly animations: string }) =>
    `${count(parts, 'part')} of ${animations} cannot be played and ${pick(parts, 'is', 'are')} left out. Finishes and pictures do not need ${pick(parts, 'it', 'them')}. If a shop plays the animation, export it again.`,
  'no-scene': ({ shown }: { readonly shown: string }) =>
    `The file does not say which scene to show. Dyeworks shows what viewers show: ${shown}. If that is too much or too little, export one scene with the parts of the product.`,
  'undeclared-extension': ({ names }: { readonly names: readonly string[] }) =>
    `The file uses ${names.join(', ')} without declaring it. Deliveries declare it. Viewers may have ignored it in the original file, so tell the supplier.`,
} as const;

/** Sizes at which products of any class are sold. */
export const SOLD_SIZES = 'a size at which products are sold (5 mm to 12 m long, and at most 12 × 4 × 2.55 m)';

/** The usual size of a product class, mm: “a dining chair (360–700 × 380–750 × 680–1,200 mm)”. */
export function describeUsualSize(
  productClass: string,
  { width, depth, height }: Readonly<Record<'width' | 'depth' | 'height', readonly [number, number]>>,
): string {
  const range = ([low, high]: readonly [number, number]) => `${Math.round(low * 1000)}–${Math.round(high * 1000)}`;
  const name = productClass.replaceAll('-', ' ');
  return `${/^[aeiou]/.test(name) ? 'an' : 'a'} ${name} (${range(width)} × ${range(depth)} × ${range(height)} mm)`;
}

export const describeSheet = (sheet: Size) => `the data sheet (${formatSize(sheet)})`;

const formatFactor = (factor: number) => String(Number(factor.toPrecision(5)));

type Mount = 'floor' | 'table' | 'ceiling' | 'wall';
const MOUNTS: Readonly<Record<Mount, { readonly stands: string; readonly part: string }>> = {
  floor: { stands: 'stands on the floor', part: 'lowest point' },
  table: { stands: 'stands on a table', part: 'lowest point' },
  ceiling: { stands: 'hangs from the ceiling', part: 'highest point' },
  wall: { stands: 'hangs on the wall', part: 'back' },
};

type GroupedBy = 'names' | 'meshes' | 'shapes' | 'colours' | 'sizes';
const GROUPED_BY: Readonly<Record<GroupedBy, (groups: number) => string>> = {
  names: (n) => `By their names in the file, the pieces form ${count(n, 'kind')} of part`,
  meshes: (n) => `By mesh, the pieces form ${count(n, 'part')}, numbered by size because no name describes them`,
  shapes: (n) => `By shape, the pieces form ${count(n, 'group')}`,
  colours: (n) => `By the colours under them, the pieces form ${count(n, 'group')}`,
  sizes: (n) => `By size, the pieces form ${count(n, 'group')}`,
};

type GeometryFaultKind =
  | 'positions-not-finite'
  | 'index-out-of-range'
  | 'zero-area'
  | 'empty-primitive'
  | 'points-or-lines'
  | 'not-readable';
const GEOMETRY_FAULTS: Readonly<Record<GeometryFaultKind, (n: number) => string>> = {
  'positions-not-finite': (n) =>
    `${count(n, 'position')} ${pick(n, 'is not a finite number', 'are not finite numbers')}, so the size and place of the part are unknown. Export the part again.`,
  'index-out-of-range': (n) =>
    `${count(n, 'index', 'indices')} ${pick(n, 'points', 'point')} past the last vertex, and many viewers refuse the file. Export the part again.`,
  'not-readable': (n) =>
    `${count(n, 'primitive')} cannot be read and ${pick(n, 'was', 'were')} not measured. Export the part again with another compression, or with none.`,
  'zero-area': (n) =>
    `${count(n, 'triangle')} ${pick(n, 'has', 'have')} no area and ${pick(n, 'is', 'are')} invisible. Finishes are not affected.`,
  'empty-primitive': (n) =>
    `${count(n, 'primitive')} ${pick(n, 'has', 'have')} no triangles, so ${pick(n, 'it draws', 'they draw')} nothing and ${pick(n, 'takes', 'take')} no finish.`,
  'points-or-lines': (n) =>
    `${count(n, 'primitive')} ${pick(n, 'consists', 'consist')} of points or lines. ${pick(n, 'It takes', 'They take')} no finish and ${pick(n, 'stays', 'stay')} as supplied.`,
};

export type MetalDoubt = 'name' | 'part-names' | 'defaults' | 'matt';
const METAL_DOUBTS: Readonly<Record<MetalDoubt, string>> = {
  name: 'but its name suggests a non-metal',
  'part-names': 'but its parts are named after a non-metal',
  defaults: 'and a roughness near 1: both are the defaults that apply when an exporter writes neither',
  matt: 'but is matt, with a colour or a pattern that bare metal rarely has',
};

/** Pieces whose UVs have one density. */
interface UvPieces {
  readonly metresPerUv: number;
  readonly pieces: number;
  /** Of the surface of the material. */
  readonly share: number;
  readonly nodes: readonly string[];
}

function describeUvPieces({ metresPerUv, pieces, share, nodes }: UvPieces): string {
  return `${formatMm(metresPerUv)} on ${nodes.length > 0 ? `${listNames(nodes)} (${count(pieces, 'piece')}, ${formatPercent(share)} of the surface)` : `${count(pieces, 'piece')} (${formatPercent(share)} of the surface)`}`;
}

function describeLimit({ budget, isMaximum }: OverBudget): string {
  return `${budget} ${isMaximum ? 'allows' : 'recommends'} at most`;
}

function describeDamagedValues({ values, what, place, seen, expected, used, isVisible }: DamagedValues): string {
  const next = isVisible
    ? 'Check the picture. If it looks wrong, correct the value and export the model again.'
    : 'Finishes and pictures do not depend on it.';
  if (values === 1) {
    return `${capitalise(place)}: ${what || 'value'} is ${seen}. Expected: ${expected}. ${used === null ? 'Dyeworks leaves it out' : `Dyeworks uses ${used} instead`}. ${next}`;
  }
  return `${formatNumber(values)} values${what ? ` (${what})` : ''} are invalid. Expected: ${expected}. The first is ${seen}, in ${place}. ${used === null ? 'Dyeworks leaves them out' : 'Dyeworks uses the nearest valid value instead'}. ${next}`;
}
