import type { Ground, Mount, Quality, SwatchKind, SwatchLight, View } from '../picture/picture.ts';
import type { ProblemCode } from '../problems.ts';
import type { ColourCard } from '../sheet/plan-colour-card.ts';
import type { CompactSchedule, ScheduleSheet } from '../sheet/plan-schedule.ts';

/** What a picture is refused for that lies in the file or the call, and not in the studio. */
export const PICTURE_REFUSALS = [
  'picture-nothing-to-see',
  'picture-geometry-unreadable',
  'picture-map-unreadable',
  'picture-too-many-maps',
  'picture-too-large',
] as const satisfies readonly ProblemCode[];

export type PictureRefusal = (typeof PICTURE_REFUSALS)[number];

/**
 * A GLB made for the studio: the model with one material for every finish its slots may take.
 * `key` is the digest of its bytes; the renderer may keep a file with the same key loaded.
 */
export interface StudioFile {
  readonly key: string;
  readonly path: string;
}

/** Which material of the studio file a primitive wears; `null` leaves the one the file gives it. */
export interface AssignedMaterial {
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
}

/** How large what is looked at stands in the frame. */
export interface Framing {
  /** Share of the frame that is filled in its tighter direction, 0–1; default 0.85. */
  readonly fill?: number;
  /** What does not count as frame on each edge, px: what is trimmed off a print. */
  readonly marginPx?: number;
  /** Takes the place of `fill`: pixels of a metre half way through what is framed, so that several products are to one scale. */
  readonly pxPerM?: number | null;
}

export interface ProductShot {
  readonly file: StudioFile;
  readonly dressing: readonly AssignedMaterial[];
  /** `clearest`: whichever shows most of `closeOn`. */
  readonly view: View | 'clearest';
  /** What is framed; the whole product when absent. */
  readonly closeOn?: readonly Pick<AssignedMaterial, 'mesh' | 'primitive'>[];
  readonly framing?: Framing;
  readonly mount: Mount;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly ground: Ground;
  /** Without one the product looks the same, and the ground beside it is left as it is. */
  readonly shadow?: boolean;
  readonly quality: Quality;
}

/** What a layer shows: primitives, those the dressing does not name, or the shadow on the ground. */
export type LayerContent = 'ground' | 'rest' | readonly Pick<AssignedMaterial, 'mesh' | 'primitive'>[];

/** Layers of a product's picture: of each all that it does not show is held out, and leaves what it covers empty. */
export interface LayersShot extends Omit<ProductShot, 'ground' | 'shadow'> {
  readonly layers: readonly LayerContent[];
}

/**
 * A layer as it was taken, rows from the top: sRGB, premultiplied, each channel in 256ths of a level, 0–65280. First the
 * whole levels of the pixels of a box, four bytes each, then as many of their 256ths. A pixel that is covered wholly has
 * whole levels.
 */
export interface RawLayer {
  /** Of the picture. */
  readonly widthPx: number;
  readonly heightPx: number;
  /** The piece of the picture that was read, px from its top left corner; all else of the layer is empty. */
  readonly box: PixelBox;
  readonly bytes: Uint8Array;
  /** What it was taken by. Layers of different makers are never summed: their edges differ. */
  readonly maker: LayerMaker;
}

export interface PixelBox {
  readonly left: number;
  readonly top: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

export type LayerMaker = Pick<RendererFacts, 'browser' | 'gl' | 'studio'>;

/** A sphere of 100 mm in one material: `kit` is a GLB whose material 0 is the finish, laid at 1 UV unit = 1 m. */
export interface SphereShot {
  readonly key: string;
  readonly kit: Uint8Array;
  readonly sizePx: number;
  readonly ground: Ground;
}

/** A finish on one of the studio's shapes: a sphere, a draped cutting, or a flat panel with a ruler. */
export interface SwatchShot extends SphereShot {
  readonly kind: Exclude<SwatchKind, 'chip'>;
  readonly light: SwatchLight;
  /** Width of the piece of a panel; others have a size of their own. */
  readonly widthMm?: number;
}

/** 8-bit sRGB, straight alpha, rows from the top: `widthPx × heightPx × 4` bytes. */
export interface RawPicture {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly rgba: Uint8Array;
  /** Whether every pixel is, where that is known. */
  readonly opaque?: boolean;
}

export interface RendererFacts {
  /** Name and version of the browser. */
  readonly browser: string;
  /** GL renderer string as the driver tells it. */
  readonly gl: string;
  /** Which way was taken: a GPU, Mesa's llvmpipe, or SwiftShader. */
  readonly driver: 'gpu' | 'llvmpipe' | 'swiftshader';
  /** Version of the studio: light, camera, tone curve. A change makes new pictures. */
  readonly studio: string;
}

/**
 * Takes pictures in the studio.
 * An implementation starts its browser on first need, renders one shot at a time, survives a crash of the browser
 * (a shot under way is tried once more), and refuses with the problem `renderer-busy` when its queue is full, with one of
 * {@link PICTURE_REFUSALS} where a file or a call is at fault, and with `renderer-failed` when a shot cannot be taken. The same shot gives the same bytes on one machine and browser.
 */
export interface Renderer {
  takeProduct(shot: ProductShot): Promise<RawPicture>;
  /** As many as fit into memory at eight bytes for each pixel and layer; those of solid parts cost little more than one. */
  takeLayers(shot: LayersShot): Promise<readonly RawLayer[]>;
  takeSwatch(shot: SwatchShot): Promise<RawPicture>;
  /** `takeSwatch` of a sphere in the studio's light. */
  takeSphere(shot: SphereShot): Promise<RawPicture>;
  /** A sheet as PDF, with vector text and real millimetres. */
  printSheet(sheet: Sheet, pictures: SheetPictures): Promise<Uint8Array>;
  /** What takes pictures now, or did last; starts the browser where none did. */
  getFacts(): Promise<RendererFacts>;
  close(): Promise<void>;
}

export interface Composition {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Each by the key of all that determines it. */
  readonly layers: readonly string[];
  /** sRGB levels of an even ground; null leaves it transparent. */
  readonly ground: readonly [number, number, number] | null;
  /** Layers that may be rendered for it. */
  readonly takeAtMost: number;
  /** Renders some of the layers, given by their places in the list, and returns them in that order. */
  take(places: readonly number[]): Promise<readonly RawLayer[]>;
}

/**
 * Keeps layers and sums them.
 * An implementation renders a layer once for all callers that need it at the same time, renders one again that cannot be
 * read, and works off the event loop. The sum is within one level of the picture rendered directly.
 */
export interface Layers {
  /** Null when it would have to render more layers than allowed; then it renders none. */
  compose(composition: Composition): Promise<RawPicture | null>;
  /** The maker of the last layer, also from before a restart; null when it is unknown. */
  recallMaker(): Promise<LayerMaker | null>;
}

/** Something to print, laid out to the millimetre. */
export type Sheet = ColourCard | ScheduleSheet | CompactSchedule;

/** Pictures that stand on a sheet, as JPEG files, by the keys the sheet names them with. */
export type SheetPictures = Readonly<Record<string, Uint8Array>>;
