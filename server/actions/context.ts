import type { StudioPart } from '../core/delivery/mapping-plan.ts';
import type { LevelTables } from '../core/finish/level-map.ts';
import type { ConvertedColour, MapFacts } from '../core/finish/map-image.ts';
import type { Job, ListedJob } from '../core/job/job.ts';
import type { ImageFormat } from '../core/picture/picture.ts';
import type { FileEncoding } from '../core/picture/picture-set.ts';
import type { MeasuredColour, MeasuredField } from '../core/picture/swatch.ts';
import type { Files, PictureStore } from '../core/ports/files.ts';
import type { Imports } from '../core/ports/imports.ts';
import type { MapFile, Models } from '../core/ports/models.ts';
import type { Layers, RawPicture, Renderer, StudioFile } from '../core/ports/renderer.ts';
import type { StoredImage, Stores } from '../core/ports/stores.ts';
import type { LoadedProduct } from './loaded-product.ts';

/** Image files out of pixels; encoding runs off the event loop. */
export interface Imaging {
  /** `lossless`: WebP without loss, for pictures whose colour is a promise. */
  encode(raw: RawPicture, format: ImageFormat, options?: { readonly lossless?: boolean }): Promise<Uint8Array>;
  /** A file that is handed on, with its profile and what it shows. Same pixels and encoding, same bytes. */
  encodeFile(raw: RawPicture, encoding: FileEncoding): Promise<Uint8Array>;
  /** The pixels of an image file that was encoded here. */
  decode(bytes: Uint8Array): Promise<RawPicture>;
  /**
   * The mean colour of an image file that was encoded here, over a field of it; null where every pixel is fully transparent.
   * `onWhite` measures it as it looks on white.
   */
  measureColour(bytes: Uint8Array, field: MeasuredField, onWhite: boolean): Promise<MeasuredColour | null>;
  /** A flat picture of exactly one colour, `#rrggbb`: exact in PNG and (lossless) WebP. */
  makeChip(hex: string, sizePx: number, format: ImageFormat): Promise<Uint8Array>;
  /** What an image is by its first bytes; null for what is not taken. */
  sniff(bytes: Uint8Array): StoredImage['mimeType'] | null;
  /**
   * Reads an uploaded image, all of it, once and strictly. Throws Problem `image-colour-model` for CMYK, `image-unreadable`
   * for one that cannot be decoded.
   */
  measure(bytes: Uint8Array): Promise<MeasuredImage>;
  /** An uploaded image in sRGB, by its profile; null without one, and for KTX2. Throws when it cannot be read. */
  convertToSrgb(bytes: Uint8Array): Promise<ConvertedColour | null>;
  /**
   * What is in an image that was stored before, as a map; null for KTX2, whose content is not measured. Throws Problem
   * `image-unreadable` for one that cannot be decoded.
   */
  measureMap(bytes: Uint8Array): Promise<MapFacts | null>;
  /** A colour map with its codes exchanged; see `makeLevelTables`. */
  levelImage(bytes: Uint8Array, tables: LevelTables): Promise<MapFile>;
}

export interface MeasuredImage {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bitsPerChannel: 8 | 16;
  /** Whether it embeds an ICC profile. */
  readonly hasProfile: boolean;
  /** What is in it as a map; null for KTX2, and for an image of more pixels than are taken. */
  readonly facts: MapFacts | null;
}

/** A file that pictures are taken from, and which of its materials a part shows in which finish. */
export interface StudioModel extends StudioFile {
  readonly bytes: number;
  readonly parts: readonly (Omit<StudioPart, 'results'> & { readonly materials: Readonly<Record<string, number>> })[];
}

/** Files the studio takes pictures from; the last few are kept. */
export interface StudioFiles {
  /**
   * Works with the file of a product, which stays for as long as the work goes on.
   * @param asked choices that must be in the file, beside the schedule's and the options
   * @throws Problem `no-model`, `geometry-undecodable`
   */
  use<T>(
    loaded: LoadedProduct,
    asked: Readonly<Record<string, string>>,
    work: (studio: StudioModel) => Promise<T>,
  ): Promise<T>;
}

/** Long work, done part by part; it goes on after a restart. */
export interface Jobs {
  /** @throws Problem `queue-full` */
  add(job: Pick<Job, 'id' | 'kind' | 'product' | 'line' | 'total' | 'request'>): Promise<Job>;
  /** @throws Problem `unknown-job` */
  get(id: string): Promise<Job>;
  /** The last jobs, the latest first; those of a product or a line where one is given. */
  listLast(limit: number, of?: { readonly product?: string; readonly line?: string }): Promise<ListedJob[]>;
  /** A job that waits is cancelled at once, one that runs when the parts under way are over. */
  cancel(id: string): Promise<Job>;
  /** The product was deleted: the parts of its open jobs that are left fail. */
  disown(product: string): void;
  /** The job now and after each change, until it has ended. */
  watch(id: string, signal: AbortSignal): AsyncGenerator<Job>;
}

/** All that actions are handed: ports only, put together by the composition root. */
export interface Context {
  readonly stores: Stores;
  readonly files: Files;
  readonly pictures: PictureStore;
  readonly models: Models;
  readonly imports: Imports;
  readonly renderer: Renderer;
  readonly layers: Layers;
  readonly imaging: Imaging;
  readonly studioFiles: StudioFiles;
  readonly jobs: Jobs;
  /** Version of the studio; pictures taken by another are not found again. */
  readonly studioVersion: string;
  /** Version of the program, for manifests. */
  readonly version: string;
  readonly now: () => Date;
}
