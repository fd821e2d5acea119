import type { StudioPart } from '../core/delivery/mapping-plan.ts';
import type { LevelTables } from '../core/finish/level-map.ts';
import type { ConvertedColour, MapFacts } from '../core/finish/map-image.ts';
import type { Job, JobFilter, ListedJob } from '../core/job/job.ts';
import type { ImageFormat } from '../core/picture/picture.ts';
import type { FileEncoding } from '../core/picture/picture-set.ts';
import type { MeasuredColour, MeasuredField } from '../core/picture/swatch.ts';
import type { Archives } from '../core/ports/archives.ts';
import type { Imports } from '../core/ports/imports.ts';
import type { MapFile, Models, ModelWork } from '../core/ports/models.ts';
import type { Planner } from '../core/ports/planner.ts';
import type { Layers, RawPicture, Renderer, StudioFile } from '../core/ports/renderer.ts';
import type { Files, PictureStore, StoredImage, Stores } from '../core/ports/stores.ts';
import type { LoadedProduct } from './loaded-product.ts';

/** Reads and writes image files. Encoding runs off the event loop. */
export interface Imaging {
  /** `lossless`: WebP without loss, for pictures with an exact colour. */
  encode(raw: RawPicture, format: ImageFormat, options?: { readonly lossless?: boolean }): Promise<Uint8Array>;
  /** A file of a picture set, with profile and metadata. The same pixels and encoding give the same bytes. */
  encodeFile(raw: RawPicture, encoding: FileEncoding): Promise<Uint8Array>;
  /** The pixels of an image file that Dyeworks encoded. */
  decode(bytes: Uint8Array): Promise<RawPicture>;
  /**
   * The mean colour of a field of an image file that Dyeworks encoded; null if every pixel is fully transparent. `onWhite`
   * measures the image as it looks on white.
   */
  measureColour(bytes: Uint8Array, field: MeasuredField, onWhite: boolean): Promise<MeasuredColour | null>;
  /** A flat picture of exactly one colour, `#rrggbb`: exact in PNG and (lossless) WebP. */
  makeChip(hex: string, sizePx: number, format: ImageFormat): Promise<Uint8Array>;
  /** The media type of an image by its first bytes; null for other formats. */
  sniff(bytes: Uint8Array): StoredImage['mimeType'] | null;
  /**
   * Decodes a whole uploaded image, strictly, and measures it.
   * @throws Problem `image-colour-model` for CMYK, `image-unreadable` for an image that cannot be decoded
   */
  measure(bytes: Uint8Array, work?: ModelWork): Promise<MeasuredImage>;
  /** Converts an uploaded image to sRGB by its profile; null without one, and for KTX2. Throws if the profile is unreadable. */
  convertToSrgb(bytes: Uint8Array, work?: ModelWork): Promise<ConvertedColour | null>;
  /**
   * Measures a stored image as a map; null for KTX2, which is not measured.
   * @throws Problem `image-unreadable` for an image that cannot be decoded
   */
  measureMap(bytes: Uint8Array): Promise<MapFacts | null>;
  /** A colour map with its colour codes replaced; see `makeLevelTables`. */
  levelImage(bytes: Uint8Array, tables: LevelTables): Promise<MapFile>;
}

export interface MeasuredImage {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bitsPerChannel: 8 | 16;
  /** Whether it embeds an ICC profile. */
  readonly hasProfile: boolean;
  /** Its measurements as a map; null for KTX2, and for an image with too many pixels. */
  readonly facts: MapFacts | null;
}

/** A file that the studio takes pictures from, and the material of each part in each finish. */
export interface StudioModel extends StudioFile {
  readonly bytes: number;
  readonly parts: readonly (Omit<StudioPart, 'results'> & { readonly materials: Readonly<Record<string, number>> })[];
}

/** Finishes by slot that a file must contain: one, or several. */
export type Asked = Readonly<Record<string, string | readonly string[]>>;

/** Files that the studio takes pictures from. The most recent ones are kept. */
export interface StudioFiles {
  /**
   * Works with the file of a product, which stays until the work ends.
   * @param asked choices that the file must contain, beside those of the schedule and the options
   * @throws Problem `no-model`, `geometry-undecodable`
   */
  use<T>(loaded: LoadedProduct, asked: Asked, work: (studio: StudioModel) => Promise<T>): Promise<T>;
}

/** Long work in parts, which continues after a restart. */
export interface Jobs {
  /** @throws Problem `queue-full` */
  add(job: Pick<Job, 'id' | 'kind' | 'product' | 'line' | 'total' | 'request'>): Promise<Job>;
  /** @throws Problem `unknown-job` */
  get(id: string): Promise<Job>;
  /** The latest jobs, newest first. */
  listLast(limit: number, of?: JobFilter): Promise<ListedJob[]>;
  /** Cancels a waiting job at once, and a running one as soon as its current parts end. */
  cancel(id: string): Promise<Job>;
  /** Makes the remaining parts of a deleted product's open jobs fail. */
  disown(product: string): void;
  /** The job as it is, and again after changes, until it ends. */
  watch(id: string, signal: AbortSignal): AsyncGenerator<Job>;
}

/** The ports that actions work with. The composition root connects them. */
export interface Context {
  readonly stores: Stores;
  readonly files: Files;
  readonly pictures: PictureStore;
  readonly models: Models;
  readonly imports: Imports;
  readonly archives: Archives;
  readonly planner: Planner;
  readonly renderer: Renderer;
  readonly layers: Layers;
  readonly imaging: Imaging;
  readonly studioFiles: StudioFiles;
  readonly jobs: Jobs;
  /** Version of the studio. It is part of the key of every picture. */
  readonly studioVersion: string;
  /** Which build of the program runs: results of its checks are kept until another one does. */
  readonly build: string;
  /** Version of the program, for manifests. */
  readonly version: string;
  readonly now: () => Date;
}
