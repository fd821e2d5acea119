import type { Approval, Subject } from '../approval/approval.ts';
import type { DeliveryManifest, DeliverySummary } from '../delivery/delivery.ts';
import type { Article, Finish, StoredFinish } from '../finish/finish.ts';
import type { ImageEncoding, ImageMimeType, MapFacts } from '../finish/map-image.ts';
import type { Change, History, Stamp } from '../history/history.ts';
import type { Line, Rule } from '../line/line.ts';
import type { Mount } from '../picture/picture.ts';
import type { PictureSet } from '../picture/picture-set.ts';
import type { Budget } from '../product/budgets.ts';
import type { ModelRevision, Product } from '../product/product.ts';
import type { Slot, SlotPlace } from '../product/slot.ts';
import type { Piece, Survey } from '../product/survey.ts';
import type { Repair } from '../repair/repair.ts';
import type { Schedule } from '../schedule/schedule.ts';

/** Where a finish is used. */
export interface FinishUse {
  /** Lines that have it in their range. */
  readonly lines: readonly string[];
  /** Lines whose rules name it. */
  readonly rules: readonly string[];
  readonly schedules: readonly { readonly product: string; readonly variants: number }[];
}

export interface SizedProduct {
  readonly mount: Mount;
  readonly size: NonNullable<Survey['size']>;
}

export interface CurrentModel extends ModelRevision {
  readonly survey: Survey;
}

/** Lookups by code ignore case; `get…` returns null for what is not there. Each call is one transaction. */
export interface Stores {
  listLines(): Promise<Line[]>;
  getLine(code: string): Promise<Line | null>;
  getTaggedLine(code: string): Promise<TaggedLine | null>;
  /**
   * Stores the line when the one that is there still has the tag given; null: whatever is there, empty: none may be.
   * True when it is new. Throws Problem `stale-line` and changes nothing then.
   */
  putLine(line: Line, ifTag: string | null): Promise<boolean>;
  /** Puts other rules in the place of those there are; nothing else of the line changes. Throws Problem `stale-line`. */
  putRules(code: string, rules: readonly Rule[], ifTag: string | null): Promise<void>;
  /** Puts finishes at the end of a range, as current; one that is in it already stays as it is. */
  addToRange(code: string, finishes: readonly string[]): Promise<void>;
  deleteLine(code: string): Promise<void>;

  /** The same array until an article or finish changes. */
  listArticles(): Promise<readonly Article[]>;
  getArticle(code: string): Promise<Article | null>;
  /** A change is taken down in the history of the article, and of every finish of it. True when it is new. */
  putArticle(article: Article, change: Change): Promise<boolean>;

  /** In the order they were first stored; the same array until an article or finish changes. */
  listFinishes(): Promise<readonly StoredFinish[]>;
  getFinish(code: string): Promise<StoredFinish | null>;
  /** What is the same as before makes no revision. */
  putFinish(finish: Finish, change: Change): Promise<{ readonly created: boolean; readonly finish: StoredFinish }>;
  /**
   * Puts all or none, each as `putFinish` does, and lets others be answered in between. `knownAs` says the revision each
   * was made from, null for a code that was new; where another stands by then, throws Problem `stale-finishes`.
   */
  putFinishes(finishes: readonly Finish[], knownAs: (code: string) => number | null, change: Change): Promise<void>;
  /** With the decisions on it. Throws Problem `finish-in-use` when anything still refers to it. */
  deleteFinish(code: string, stamp: Stamp): Promise<void>;
  findUses(finish: string): Promise<FinishUse>;

  /** What was taken down of a code, oldest first, its deletion and what came after it included; empty for one never used. */
  getFinishHistory(code: string): Promise<History<Finish>>;
  getArticleHistory(code: string): Promise<History<Article>>;

  listProducts(): Promise<Product[]>;
  getProduct(code: string): Promise<Product | null>;
  /** Throws Problem `duplicate-code`. */
  addProduct(product: Product): Promise<void>;
  changeProduct(product: Product): Promise<void>;
  /** With all that is its own; a product of the same code that comes after it inherits nothing but the next numbers. */
  deleteProduct(code: string): Promise<void>;

  /** Mounts and overall sizes of a line's products that have a model with an extent. */
  listLineSizes(line: string): Promise<readonly SizedProduct[]>;
  /** The current revision. */
  getModel(product: string): Promise<CurrentModel | null>;
  getRevision(product: string, revision: number): Promise<StoredModel | null>;
  /** The latest first. */
  listRevisions(product: string): Promise<ListedRevision[]>;
  /** Empty for a revision that is not there. */
  listPieces(product: string, revision: number): Promise<Piece[]>;
  /** Adds the next revision, and makes it current where `use` is given. Throws Problem `unknown-product`, `stale-model`. */
  addModel(
    product: string,
    model: NewModel,
    use: Use | null,
  ): Promise<ModelRevision & { readonly slots: readonly Slot[] }>;
  /** Makes an earlier or waiting revision current. Throws Problem `unknown-revision`, `stale-model`. */
  useRevision(product: string, revision: number, use: Use): Promise<readonly Slot[]>;
  /** Puts another survey of the same bytes in the place of an outdated one. */
  replaceSurvey(product: string, revision: number, survey: Survey, pieces: readonly Piece[]): Promise<void>;

  /** The repairs every new model of the product goes through. */
  getPreparation(product: string): Promise<readonly Repair[]>;
  /** Throws Problem `unknown-product`. */
  putPreparation(product: string, steps: readonly Repair[]): Promise<void>;

  /** Budgets the studio has set, by name; they stand before the built-in ones. */
  listBudgets(): Promise<Budget[]>;
  putBudget(budget: Budget): Promise<boolean>;
  deleteBudget(name: string): Promise<void>;

  listSlots(product: string): Promise<Slot[]>;
  /** Changes a slot as it stands then; null when there is none. */
  changeSlot(product: string, slot: string, change: (slot: Slot) => Slot): Promise<Slot | null>;

  getSchedule(product: string): Promise<TaggedSchedule | null>;
  /**
   * Stores the schedule when what is there still has the tag given (null: whatever is there).
   * Throws Problem `stale-schedule`, `unknown-product` or `unknown-finish`, and changes nothing then.
   */
  putSchedule(product: string, schedule: Schedule, ifTag: string | null): Promise<TaggedSchedule>;

  /**
   * Takes a finish out of what a line sells, and stores the schedules that come of it: all or nothing.
   * Throws Problem `stale-line`, `stale-schedule`, `not-in-range`, `unknown-product` or `unknown-finish`.
   */
  applyDiscontinue(change: Discontinuation): Promise<void>;

  listDeliveries(product: string): Promise<DeliverySummary[]>;
  getDelivery(product: string, delivery: number): Promise<DeliveryManifest | null>;
  /** Deliveries whose manifest lists the finish. */
  listDeliveriesWith(finish: string): Promise<{ readonly product: string; readonly delivery: number }[]>;
  /** Codes of the variants that were ever delivered of a product. */
  listDeliveredCodes(product: string): Promise<string[]>;
  /** Numbers the delivery, from 1, and stores it with the manifest that `finish` makes of the number. */
  addDelivery(product: string, finish: (delivery: number) => DeliveryManifest): Promise<DeliveryManifest>;

  /** Decisions on a finish or a variant, oldest first. */
  listApprovals(subject: Subject): Promise<Approval[]>;
  /** Adds the decision that `decide` makes of those there are. */
  addApproval(subject: Subject, decide: (known: readonly Approval[]) => Approval): Promise<Approval>;

  /** Those that were stored, by code; the ready ones are not among them unless one was stored in their place. */
  listPictureSets(): Promise<PictureSet[]>;
  /** True when it is new. */
  putPictureSet(set: PictureSet): Promise<boolean>;
  /** False when none was stored. */
  deletePictureSet(code: string): Promise<boolean>;

  /**
   * Also serves maps of finishes: their bytes are with `Files` under the same digest. Of one that is there only an encoding
   * that was not known is filled in.
   */
  addFile(file: StoredImage): Promise<void>;
  getFile(sha256: string): Promise<StoredImage | null>;
  /** What was measured of an image; null for one that cannot be, undefined for one that was not yet. */
  getMapFacts(sha256: string): Promise<MapFacts | null | undefined>;
  putMapFacts(sha256: string, facts: MapFacts | null): Promise<void>;
}

/** A revision with where its slots were when it was current last; none when it never was. */
export interface StoredModel extends CurrentModel {
  readonly places: readonly SlotPlace[];
}

export interface ListedRevision extends ModelRevision {
  readonly current: boolean;
  readonly size: Survey['size'];
  readonly triangles: number;
  readonly draws: number;
}

export type NewModel = Omit<CurrentModel, 'revision'> & { readonly pieces: readonly Piece[] };

/** How a revision becomes current. */
export interface Use {
  /** The revision this was decided on; another one meanwhile refuses it. Null: there was none; left out: whatever is there. */
  readonly ifCurrent?: number | null;
  /** The slots, made from those there are; `inUse` are the keys that the schedule as it stands then makes choices in. */
  readonly derive: (known: readonly Slot[], inUse: ReadonlySet<string>) => readonly Slot[];
  /** The product's preparation from now on; left out, it stays. */
  readonly preparation?: readonly Repair[];
}

/** A line with the digest of its content, its rules included, which guards edits. */
export interface TaggedLine {
  readonly line: Line;
  readonly tag: string;
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
  /** Null where it is not known: KTX2, and images stored before it was looked at. Those are read as sRGB. */
  readonly encoding: ImageEncoding | null;
}

/** A finish that a line sells no more, and the schedules without it. */
export interface Discontinuation {
  readonly line: string;
  /** Tag of the line it was decided on. */
  readonly ifTag: string;
  readonly finish: string;
  readonly replacedBy: string | null;
  readonly stamp: Stamp;
  /** Each is stored only if the one that is there still has the tag. */
  readonly schedules: readonly { readonly product: string; readonly schedule: Schedule; readonly ifTag: string }[];
}

/** Bytes kept under the SHA-256 of their content. */
export interface StoredBytes {
  /** Lower-case hex. */
  readonly sha256: string;
  readonly bytes: number;
}

/**
 * Files by digest. An implementation writes to a temporary file, syncs and renames, so that a file is whole or absent,
 * and never changes one that is there.
 */
export interface Files {
  /** A path for a file that is being made; `adopt` takes it over, `discard` gives it up. */
  newTemporary(): Promise<string>;
  discard(path: string): Promise<void>;
  /** Moves a finished, synced temporary file in under its digest. */
  adopt(path: string, sha256: string): Promise<StoredBytes>;
  putBytes(bytes: Uint8Array): Promise<StoredBytes>;
  /**
   * Writes a stream to a temporary file, hashing on the way, and syncs it; `adopt` or `discard` it then.
   * Throws Problem `body-too-large` past the limit, and leaves nothing behind.
   */
  takeStream(stream: AsyncIterable<Uint8Array>, limitBytes: number): Promise<StoredBytes & { readonly path: string }>;
  /** SHA-256 of a file, read as a stream. */
  digest(path: string): Promise<string>;
  getPath(sha256: string): string;
  read(sha256: string): Promise<Uint8Array>;
  has(sha256: string): Promise<boolean>;
}

/** Pictures under a key that determines them, up to a number of bytes, least used out first. */
export interface PictureStore {
  get(key: string): Promise<StoredPicture | null>;
  put(key: string, bytes: Uint8Array, mediaType: string): Promise<StoredPicture>;
  /** Of these keys the ones there are pictures under, without reading them; it does not count as a use. */
  listHeld(keys: readonly string[]): Promise<ReadonlyMap<string, StoredBytes>>;
}

export interface StoredPicture {
  readonly bytes: Uint8Array;
  readonly sha256: string;
  readonly mediaType: string;
}
