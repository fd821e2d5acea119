import type { DeliveryManifest, DeliverySummary } from '../delivery/delivery.ts';
import type { Article, Finish, StoredFinish } from '../finish/finish.ts';
import type { Line } from '../line/line.ts';
import type { ImageMimeType } from '../picture/sniff-image.ts';
import type { ModelRevision, Product } from '../product/product.ts';
import type { Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import type { Schedule } from '../schedule/schedule.ts';

/** Where a finish is used. */
export interface FinishUse {
  readonly lines: readonly string[];
  readonly schedules: readonly { readonly product: string; readonly variants: number }[];
}

export interface CurrentModel extends ModelRevision {
  readonly survey: Survey;
}

/** Lookups by code ignore case; `get…` returns null for what is not there. Each call is one transaction. */
export interface Stores {
  listLines(): Promise<Line[]>;
  getLine(code: string): Promise<Line | null>;
  /** True when it is new. */
  putLine(line: Line): Promise<boolean>;
  deleteLine(code: string): Promise<void>;

  /** The same array until an article or finish changes. */
  listArticles(): Promise<readonly Article[]>;
  getArticle(code: string): Promise<Article | null>;
  putArticle(article: Article): Promise<boolean>;

  /** In the order they were first stored; the same array until an article or finish changes. */
  listFinishes(): Promise<readonly StoredFinish[]>;
  getFinish(code: string): Promise<StoredFinish | null>;
  putFinish(finish: Finish): Promise<{ readonly created: boolean; readonly finish: StoredFinish }>;
  /** Throws Problem `finish-in-use` when anything still refers to it. */
  deleteFinish(code: string): Promise<void>;
  findUses(finish: string): Promise<FinishUse>;

  listProducts(): Promise<Product[]>;
  getProduct(code: string): Promise<Product | null>;
  /** Throws Problem `duplicate-code`. */
  addProduct(product: Product): Promise<void>;
  changeProduct(product: Product): Promise<void>;
  deleteProduct(code: string): Promise<void>;

  getModel(product: string): Promise<CurrentModel | null>;
  /** Adds the next revision with its slots, made from those there are. Throws Problem `unknown-product`. */
  addModel(
    product: string,
    model: Omit<CurrentModel, 'revision'>,
    derive: (known: readonly Slot[]) => readonly Slot[],
  ): Promise<ModelRevision & { readonly slots: readonly Slot[] }>;
  listSlots(product: string): Promise<Slot[]>;
  /** Changes a slot as it stands then; null when there is none. */
  changeSlot(product: string, slot: string, change: (slot: Slot) => Slot): Promise<Slot | null>;

  getSchedule(product: string): Promise<TaggedSchedule | null>;
  /**
   * Stores the schedule when what is there still has the tag given (null: whatever is there).
   * Throws Problem `stale-schedule`, `unknown-product` or `unknown-finish`, and changes nothing then.
   */
  putSchedule(product: string, schedule: Schedule, ifTag: string | null): Promise<TaggedSchedule>;

  listDeliveries(product: string): Promise<DeliverySummary[]>;
  getDelivery(product: string, delivery: number): Promise<DeliveryManifest | null>;
  /** Numbers the delivery, from 1, and stores it with the manifest that `finish` makes of the number. */
  addDelivery(product: string, finish: (delivery: number) => DeliveryManifest): Promise<DeliveryManifest>;

  /** Also serves maps of finishes: their bytes are with `Files` under the same digest. */
  addFile(file: StoredImage): Promise<void>;
  getFile(sha256: string): Promise<StoredImage | null>;
}

/** A schedule with the digest of its content, which guards edits. */
export interface TaggedSchedule {
  readonly schedule: Schedule;
  readonly tag: string;
}

/** An uploaded image, kept for the maps of finishes. */
export interface StoredImage {
  readonly sha256: string;
  readonly bytes: number;
  readonly mimeType: ImageMimeType;
  readonly widthPx: number;
  readonly heightPx: number;
}
