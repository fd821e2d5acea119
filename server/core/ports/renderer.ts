import type { Ground, Mount, Quality, SwatchKind, SwatchLight, View } from '../picture/picture.ts';
import type { ProblemCode } from '../problems.ts';
import type { ColourCard } from '../sheet/plan-colour-card.ts';
import type { CompactSchedule, ScheduleSheet } from '../sheet/plan-schedule.ts';

/** Reasons to refuse a picture that come from the file or the call, not from the studio. */
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

/** The material of the studio file for a primitive; `null` keeps the material of the file. */
export interface AssignedMaterial {
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
}

/** The size of the subject in the frame. */
export interface Framing {
  /** Share of the frame that is filled in its tighter direction, 0–1; default 0.85. */
  readonly fill?: number;
  /** The part on each edge that does not count as frame, px: the part that is trimmed off a print. */
  readonly marginPx?: number;
  /** Replaces `fill`: pixels per metre half way through the framed subject, so that several products have one scale. */
  readonly pxPerM?: number | null;
}

export interface ProductShot {
  readonly file: StudioFile;
  readonly assignments: readonly AssignedMaterial[];
  /** `clearest`: the view that shows most of `closeOn`. */
  readonly view: View | 'clearest';
  /** The framed primitives; the whole product when absent. */
  readonly closeOn?: readonly Pick<AssignedMaterial, 'mesh' | 'primitive'>[];
  readonly framing?: Framing;
  readonly mount: Mount;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly ground: Ground;
  /** Without a shadow the product looks the same, and the ground beside it does not change. */
  readonly shadow?: boolean;
  readonly quality: Quality;
}

/** The content of a layer: primitives, those without an assigned material, or the shadow on the ground. */
export type LayerContent = 'ground' | 'rest' | readonly Pick<AssignedMaterial, 'mesh' | 'primitive'>[];

/**
 * Layers of a product's picture. In each layer, everything it does not show is held out, and leaves the pixels it
 * covers empty.
 */
export interface LayersShot extends Omit<ProductShot, 'ground' | 'shadow'> {
  readonly layers: readonly LayerContent[];
}

/**
 * A layer as rendered, rows from the top: sRGB, premultiplied, each channel in 256ths of a level, 0–65280. First the
 * whole levels of the pixels of a box, four bytes each, then as many of their 256ths. A fully covered pixel has whole
 * levels.
 */
export interface RawLayer {
  /** Of the picture. */
  readonly widthPx: number;
  readonly heightPx: number;
  /** The part of the picture that was read, px from its top left corner; the rest of the layer is empty. */
  readonly box: PixelBox;
  readonly bytes: Uint8Array;
  /** The maker of the layer. Layers of different makers are never summed: their edges differ. */
  readonly maker: LayerMaker;
}

export interface PixelBox {
  readonly left: number;
  readonly top: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

export type LayerMaker = Pick<RendererFacts, 'browser' | 'gl' | 'studio'>;

/** A sphere of 100 mm in one material: `kit` is a GLB whose material 0 is the finish, at 1 UV unit = 1 m. */
interface SphereShot {
  readonly key: string;
  readonly kit: Uint8Array;
  readonly sizePx: number;
  readonly ground: Ground;
}

/** A finish on one of the studio's shapes: a sphere, a draped cutting, or a flat panel with a ruler. */
export interface SwatchShot extends SphereShot {
  readonly kind: Exclude<SwatchKind, 'chip'>;
  readonly light: SwatchLight;
  /** Width of the piece of a panel; other shapes have a fixed size. */
  readonly widthMm?: number;
}

/** 8-bit sRGB, straight alpha, rows from the top: `widthPx × heightPx × 4` bytes. */
export interface RawPicture {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly rgba: Uint8Array;
  /** Whether every pixel is opaque, where that is known. */
  readonly opaque?: boolean;
}

export interface RendererFacts {
  /** Name and version of the browser. */
  readonly browser: string;
  /** GL renderer string from the driver. */
  readonly gl: string;
  /** The kind of GL driver: a GPU, Mesa's llvmpipe, or SwiftShader. */
  readonly driver: 'gpu' | 'llvmpipe' | 'swiftshader';
  /** Version of the studio: light, camera, tone curve. A new version needs new pictures. */
  readonly studio: string;
}

/** Who waits for a picture. */
export interface Turn {
  /** What runs first; see `createShotQueue`. It may rise while the picture waits, if another caller asks for the same. */
  readonly rank: 'person' | 'job' | 'guest';
  /** Distinguishes callers, so that one cannot take all places. */
  readonly name: string;
  /** Aborts when no caller waits any more. */
  readonly signal?: AbortSignal;
}

/**
 * Takes pictures in the studio.
 * An implementation starts its browser when it first needs it, renders one shot at a time, and survives a crash and a freeze of
 * the browser (it repeats the current shot once). Between the tiles of a large shot it takes others that come first. Without a
 * turn, a shot counts as one of a person. It refuses with `caller-left` when no caller waits any more, with the problem `renderer-busy` when its queue is full, with
 * one of {@link PICTURE_REFUSALS} where a file or a call is at fault, and with `renderer-failed` when a shot fails. The
 * same shot gives the same bytes on one machine and browser.
 */
export interface Renderer {
  takeProduct(shot: ProductShot, turn?: Turn): Promise<RawPicture>;
  /**
   * As many as fit into memory at eight bytes for each pixel and layer; layers of solid parts need little more than
   * one.
   */
  takeLayers(shot: LayersShot, turn?: Turn): Promise<readonly RawLayer[]>;
  takeSwatch(shot: SwatchShot, turn?: Turn): Promise<RawPicture>;
  /** `takeSwatch` of a sphere in the studio's light. */
  takeSphere(shot: SphereShot, turn?: Turn): Promise<RawPicture>;
  /** A sheet as PDF, with vector text and real millimetres. */
  printSheet(sheet: Sheet, pictures: SheetPictures, turn?: Turn): Promise<Uint8Array>;
  /** The current maker of pictures, or the last one; starts the browser where none has run. */
  getFacts(turn?: Turn): Promise<RendererFacts>;
  close(): Promise<void>;
}

export interface Composition {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Keys that identify the content of each layer. */
  readonly layers: readonly string[];
  /** sRGB levels of an even ground; null keeps it transparent. */
  readonly ground: readonly [number, number, number] | null;
  /** Who waits for it. Layers of guests have a share of the memory of their own. */
  readonly turn?: Turn;
  /** Number of layers that may be rendered for it. */
  readonly takeAtMost: number;
  /** Renders some of the layers, by their indices in the list, and returns them in that order. */
  take(places: readonly number[]): Promise<readonly RawLayer[]>;
}

/**
 * Stores layers and sums them.
 * An implementation renders a layer once for all callers that need it at the same time, renders an unreadable one
 * again, and works off the event loop. The sum is within one level of the picture rendered directly.
 */
export interface Layers {
  /** Null when it would have to render more layers than allowed; then it renders none. */
  compose(composition: Composition): Promise<RawPicture | null>;
  /** The maker of the last layer, also from before a restart; null when it is unknown. */
  recallMaker(): Promise<LayerMaker | null>;
}

/** A printed sheet, laid out in mm. */
export type Sheet = ColourCard | ScheduleSheet | CompactSchedule;

/** Pictures on a sheet, as JPEG files, by the keys that the sheet uses. */
export type SheetPictures = Readonly<Record<string, Uint8Array>>;
