import type { Approval, Subject } from '../approval/approval.ts';
import type { DeliveryFile, DeliveryManifest, DeliverySummary, Withdrawal } from '../delivery/delivery.ts';
import type { SentSku } from '../delivery/sku.ts';
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
import type { Verdict } from '../product/verdict.ts';
import type { Repair } from '../repair/repair.ts';
import type { Schedule } from '../schedule/schedule.ts';

/** Where a finish is used. */
export interface FinishUse {
  /** Lines with it in their range. */
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

/**
 * Lookups by code ignore case; `get…` returns null where nothing is stored. Each call is one transaction, or part of the one
 * that its stores belong to.
 *
 * `ifTag` is what a caller expects to be stored; see `requireExpected`.
 */
export interface Stores {
  /**
   * Does work that changes several things: everything that it writes with `tx` is stored, or nothing. A call of other stores
   * in it is refused, since it would wait for the transaction. Other calls wait until the work ends, so everything that takes
   * long is done before. A transaction in a transaction joins it.
   */
  transaction<T>(work: (tx: Stores) => Promise<T>): Promise<T>;
  /** Reads several things as they are at one moment. The work writes nothing; other calls wait for it as for a transaction. */
  snapshot<T>(work: (at: Stores) => Promise<T>): Promise<T>;

  listLines(): Promise<Line[]>;
  getLine(code: string): Promise<Line | null>;
  getTaggedLine(code: string): Promise<TaggedLine | null>;
  /** True when the line is new. Throws Problem `stale-line` and then changes nothing. */
  putLine(line: Line, ifTag: string | null): Promise<boolean>;
  /** Replaces the rules; nothing else of the line changes. Throws Problem `stale-line`. */
  putRules(code: string, rules: readonly Rule[], ifTag: string | null): Promise<void>;
  /** Adds finishes at the end of a range, as current; a finish already in it stays as it is. */
  addToRange(code: string, finishes: readonly string[]): Promise<void>;
  deleteLine(code: string): Promise<void>;

  /** The same array until an article or finish changes. */
  listArticles(): Promise<readonly Article[]>;
  getArticle(code: string): Promise<Article | null>;
  /** Records the change in the history of the article, and of every finish of it. True when it is new. */
  putArticle(article: Article, change: Change): Promise<boolean>;

  /** In the order they were first stored; the same array until an article or finish changes. */
  listFinishes(): Promise<readonly StoredFinish[]>;
  getFinish(code: string): Promise<StoredFinish | null>;
  /** A finish that equals the stored one makes no revision. */
  putFinish(finish: Finish, change: Change): Promise<{ readonly created: boolean; readonly finish: StoredFinish }>;
  /**
   * Stores all or none, each as `putFinish` does, and allows other calls in between. `knownAs` gives the revision that
   * each is based on, null for a code that was new. Throws Problem `stale-finishes` where the stored revision is
   * another.
   */
  putFinishes(finishes: readonly Finish[], knownAs: (code: string) => number | null, change: Change): Promise<void>;
  /** Also deletes the decisions on it. Throws Problem `finish-in-use` when anything still refers to it. */
  deleteFinish(code: string, stamp: Stamp): Promise<void>;
  findUses(finish: string): Promise<FinishUse>;

  /** The history of a code, oldest first, including its deletion and later entries; empty for a code never used. */
  getFinishHistory(code: string): Promise<History<Finish>>;
  getArticleHistory(code: string): Promise<History<Article>>;

  listProducts(): Promise<Product[]>;
  /**
   * Products in the order in which they were added, each with its summary if nothing changed that it depends on.
   * @param maker says which program makes summaries; those of another one do not hold
   */
  listSummaries(page: Page, maker: string): Promise<SummarisedProduct[]>;
  /** @param stamp the one that was read before the summary was made */
  putSummary(product: string, stamp: string, summary: ProductSummary): Promise<void>;
  getProduct(code: string): Promise<Product | null>;
  getIdentity(product: string): Promise<ProductIdentity | null>;
  /** Throws Problem `duplicate-code`. */
  addProduct(product: Product): Promise<void>;
  changeProduct(product: Product): Promise<void>;
  /** Deletes everything of the product; a later product of the same code inherits only the next numbers. */
  deleteProduct(code: string): Promise<void>;

  /** Mounts and overall sizes of a line's products that have a model with an extent. */
  listLineSizes(line: string): Promise<readonly SizedProduct[]>;
  /** The current revision. */
  getModel(product: string): Promise<CurrentModel | null>;
  getRevision(product: string, revision: number): Promise<StoredModel | null>;
  /** The latest first. */
  listRevisions(product: string): Promise<ListedRevision[]>;
  /** Empty for a revision that does not exist. */
  listPieces(product: string, revision: number): Promise<Piece[]>;
  /**
   * Adds the next revision, and makes it current where `use` is given. Throws Problem `unknown-product`, `stale-model`.
   */
  addModel(
    product: string,
    model: NewModel,
    use: Use | null,
  ): Promise<ModelRevision & { readonly slots: readonly Slot[] }>;
  /** Makes an earlier or waiting revision current. Throws Problem `unknown-revision`, `stale-model`. */
  useRevision(product: string, revision: number, use: Use): Promise<readonly Slot[]>;
  /** Replaces an outdated survey with a new survey of the same bytes. */
  replaceSurvey(product: string, revision: number, survey: Survey, pieces: readonly Piece[]): Promise<void>;

  /** The repairs for every new model of the product. */
  getPreparation(product: string): Promise<readonly Repair[]>;
  /** Throws Problem `unknown-product`. */
  putPreparation(product: string, steps: readonly Repair[]): Promise<void>;

  /** Budgets that the studio has set, by name; they take precedence over the built-in ones. */
  listBudgets(): Promise<Budget[]>;
  putBudget(budget: Budget): Promise<boolean>;
  deleteBudget(name: string): Promise<void>;

  listSlots(product: string): Promise<Slot[]>;
  /** Changes a slot in its stored state; null when there is none. */
  changeSlot(product: string, slot: string, change: (slot: Slot) => Slot): Promise<Slot | null>;

  getSchedule(product: string): Promise<TaggedSchedule | null>;
  /** Writes the text of a schedule ahead of the transaction that stores it, with turns of the event loop in between. */
  writeSchedule(schedule: Schedule): Promise<WrittenSchedule>;
  /**
   * Throws Problem `stale-schedule`, `unknown-product` or `unknown-finish`, and then changes nothing.
   */
  putSchedule(product: string, written: WrittenSchedule, ifTag: string | null): Promise<TaggedSchedule>;
  /** Nothing happens without one. */
  deleteSchedule(product: string): Promise<void>;

  /**
   * Removes a finish from the finishes that a line sells, and stores the resulting schedules: all or nothing.
   * Throws Problem `stale-line`, `stale-schedule`, `not-in-range`, `unknown-product` or `unknown-finish`.
   */
  applyDiscontinue(change: Discontinuation): Promise<void>;

  listDeliveries(product: string): Promise<DeliverySummary[]>;
  getDelivery(product: string, delivery: number): Promise<DeliveryManifest | null>;
  /** The newest delivery that is not withdrawn, or the one with a number, without its manifest. */
  getDeliverySummary(product: string, delivery: number | 'current'): Promise<DeliverySummary | null>;
  /** Stores the withdrawal that `decide` makes from the delivery. Throws Problem `unknown-delivery`. */
  withdrawDelivery(product: string, delivery: number, decide: (known: DeliverySummary) => Withdrawal): Promise<void>;
  /** Deliveries whose manifest lists the finish. */
  listDeliveriesWith(finish: string): Promise<{ readonly product: string; readonly delivery: number }[]>;
  /** Codes of all variants ever delivered for a product. */
  listDeliveredCodes(product: string): Promise<string[]>;
  /** Folded codes of the finishes in a delivery. */
  listDeliveredFinishes(product: string, delivery: number): Promise<string[]>;
  /** Writes the text of a manifest ahead of its transaction, as `writeSchedule` does. Its number comes later. */
  writeManifest(manifest: Omit<DeliveryManifest, 'delivery'>): Promise<WrittenManifest>;
  /** Numbers the delivery, from 1, and stores it with its manifest. */
  addDelivery(product: string, written: WrittenManifest): Promise<DeliveryManifest>;

  /** SKUs that deliveries of a product have sent out, and those among `wanted` that belong to other products. */
  listSentSkus(product: string, wanted: readonly string[]): Promise<SentSku[]>;
  /** Keeps SKUs for a product for good. False if one belongs to another choice already; then nothing may be stored. */
  addSentSkus(product: string, skus: readonly (SentSku & { readonly choice: string })[]): Promise<boolean>;

  /** Files of a delivery beside its model, ordered by form. */
  listDeliveryFiles(product: string, delivery: number): Promise<DeliveryFile[]>;
  /** @param form case counts */
  getDeliveryFile(product: string, delivery: number, form: string): Promise<DeliveryFile | null>;
  /**
   * Adds files to a delivery: all or none. A file with a digest stays as it is, so what was sent once never changes; one without
   * gets the new one's. Adopt the content of stored files first. Throws Problem `unknown-delivery`.
   */
  addDeliveryFiles(product: string, delivery: number, files: readonly DeliveryFile[]): Promise<void>;

  /** Decisions on a finish or a variant, oldest first. */
  listApprovals(subject: Subject): Promise<Approval[]>;
  /** Decisions on finishes, by folded code, oldest first. */
  listFinishApprovals(): Promise<ReadonlyMap<string, readonly Approval[]>>;
  /** Decisions on the variants of a product, by folded code, oldest first. */
  listVariantApprovals(product: string): Promise<ReadonlyMap<string, readonly Approval[]>>;
  /** Adds the decision that `decide` makes from the existing ones. */
  addApproval(subject: Subject, decide: (known: readonly Approval[]) => Approval): Promise<Approval>;

  /** Stored sets, by code. A built-in set is included only where a stored set replaces it. */
  listPictureSets(): Promise<PictureSet[]>;
  /** True when it is new. */
  putPictureSet(set: PictureSet): Promise<boolean>;
  /** False when none is stored. */
  deletePictureSet(code: string): Promise<boolean>;

  /**
   * Also stores maps of finishes: their bytes are in `Files` under the same digest. For a known file it only fills in a
   * missing encoding.
   */
  addFile(file: StoredImage): Promise<void>;
  getFile(sha256: string): Promise<StoredImage | null>;
  /**
   * Measurements of an image; null for an image that cannot be measured, undefined for one that has not been measured
   * yet.
   */
  getMapFacts(sha256: string): Promise<MapFacts | null | undefined>;
  putMapFacts(sha256: string, facts: MapFacts | null): Promise<void>;
}

/** A part of a list. */
export interface Page {
  /** Most entries. */
  readonly limit: number;
  /** Place of the entry before the first one, counted from 1; 0 begins at the start. */
  readonly after: number;
}

/** What a list says of a product, besides its own fields. */
export interface ProductSummary {
  readonly size: Survey['size'];
  readonly model: Pick<CurrentModel, 'revision' | 'sha256' | 'bytes'> | null;
  readonly verdict: Verdict;
  readonly variants: number;
  readonly defaultVariant: string | null;
  readonly deliveries: number;
  /** Whether the last delivery differs from what a delivery would contain now; false without one. */
  readonly outdated: boolean;
  /** Whether the model has anything that a picture can show. */
  readonly isShown: boolean;
}

export interface SummarisedProduct {
  readonly product: Product;
  /** For `Page.after`. */
  readonly place: number;
  /** Changes with everything that the summary depends on. */
  readonly stamp: string;
  readonly summary: ProductSummary | null;
}

/** Tells a product and its model from all others, also from later ones with the same code. */
export interface ProductIdentity {
  /** No other product ever has it. */
  readonly id: number;
  /** The current revision, whose number no other model ever has; null without a model. */
  readonly revision: number | null;
}

/** A revision with the slots of the last time it was current; none when it never was. */
export interface StoredModel extends CurrentModel {
  readonly places: readonly SlotPlace[];
}

interface ListedRevision extends ModelRevision {
  readonly current: boolean;
  readonly size: Survey['size'];
  readonly triangles: number;
  readonly draws: number;
}

export type NewModel = Omit<CurrentModel, 'revision'> & { readonly pieces: readonly Piece[] };

/** How a revision becomes current. */
export interface Use {
  /**
   * The revision that the caller based this on; another current revision refuses it. Null: there was none. Left out:
   * any.
   */
  readonly ifCurrent?: number | null;
  /**
   * Makes the slots from the existing ones; `inUse` has the keys of the slots in which the stored schedule makes
   * choices.
   */
  readonly derive: (known: readonly Slot[], inUse: ReadonlySet<string>) => readonly Slot[];
  /** Makes the product's preparation from the stored one; left out, it does not change. */
  readonly preparation?: (known: readonly Repair[]) => readonly Repair[];
}

/** A line with the digest of its content, including its rules; the digest guards edits. */
export interface TaggedLine {
  readonly line: Line;
  readonly tag: string;
}

/** A schedule with the digest of its content, which guards edits. */
export interface TaggedSchedule {
  readonly schedule: Schedule;
  readonly tag: string;
}

/** A schedule with the text that is stored. A long one takes a while to write, and all other calls wait for a transaction. */
export interface WrittenSchedule extends TaggedSchedule {
  readonly data: string;
  /** How many variants use each finish, by folded code. */
  readonly uses: ReadonlyMap<string, number>;
}

/** A manifest with the text that is stored, once its number stands between the two parts. */
export interface WrittenManifest {
  readonly manifest: Omit<DeliveryManifest, 'delivery'>;
  readonly beforeNumber: string;
  readonly afterNumber: string;
}

/** An uploaded image, stored for the maps of finishes. */
export interface StoredImage {
  readonly sha256: string;
  readonly bytes: number;
  readonly mimeType: ImageMimeType;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Null where it is unknown: KTX2, and images stored before encodings were recorded. Those are read as sRGB. */
  readonly encoding: ImageEncoding | null;
}

/** A finish that a line no longer sells, and the schedules without it. */
export interface Discontinuation {
  readonly line: string;
  /** Tag of the line that the decision was based on; null accepts any. */
  readonly ifTag: string | null;
  readonly finish: string;
  readonly replacedBy: string | null;
  readonly stamp: Stamp;
  /** Each is stored only if the stored schedule still has the tag. */
  readonly schedules: readonly {
    readonly product: string;
    readonly written: WrittenSchedule;
    readonly ifTag: string;
  }[];
}

/** Bytes stored under the SHA-256 of their content. */
export interface StoredBytes {
  /** Lower-case hex. */
  readonly sha256: string;
  readonly bytes: number;
}

/**
 * Files by digest. An implementation writes to a temporary file, syncs and renames, so that a file is whole or absent.
 * It never changes an existing file.
 */
export interface Files {
  /** A path for a new file; `adopt` stores the file, `discard` deletes it. */
  newTemporary(): Promise<string>;
  discard(path: string): Promise<void>;
  /** Moves a finished, synced temporary file to its digest. When that fails, the file is discarded. */
  adopt(path: string, sha256: string): Promise<StoredBytes>;
  putBytes(bytes: Uint8Array): Promise<StoredBytes>;
  /**
   * Writes a stream to a temporary file, hashes it on the way, and syncs it. Call `adopt` or `discard` afterwards.
   * Throws Problem `body-too-large` past the limit, and leaves nothing behind.
   */
  takeStream(stream: AsyncIterable<Uint8Array>, limitBytes: number): Promise<StoredBytes & { readonly path: string }>;
  /** SHA-256 of a file, read as a stream. */
  digest(path: string): Promise<string>;
  getPath(sha256: string): string;
  read(sha256: string): Promise<Uint8Array>;
  has(sha256: string): Promise<boolean>;
}

/** For whom a picture is stored or read. */
export type PictureShare = 'guests' | 'others';

/** Pictures by a key of all their inputs, up to a number of bytes; the least recently used ones are deleted first. */
export interface PictureStore {
  /** A picture that was made for guests and is read for others counts as theirs from then on. @param share default `others` */
  get(key: string, share?: PictureShare): Promise<StoredPicture | null>;
  /**
   * When the disk is full or fails, the picture is returned with the `fault` and is not stored. What is stored for guests has a
   * part of the bytes, and drives out nothing but what was stored for guests.
   */
  put(key: string, bytes: Uint8Array, mediaType: string, share?: PictureShare): Promise<StoredPicture>;
  /** Those of the keys that have pictures, without reading the pictures; it does not count as a use. */
  listHeld(keys: readonly string[]): Promise<ReadonlyMap<string, StoredBytes>>;
}

export interface StoredPicture {
  readonly bytes: Uint8Array;
  readonly sha256: string;
  readonly mediaType: string;
  /** Why the picture is not stored; absent for one that is. */
  readonly fault?: unknown;
}
