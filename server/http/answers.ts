/**
 * The JSON answers of the API, as types: what routes give and what pages take. Types only.
 */

import type { Approval, Standing } from '../core/approval/approval.ts';
import type { Lab } from '../core/colour/lab.ts';
import type { DeliverySummary } from '../core/delivery/delivery.ts';
import type {
  Article,
  ColourSource,
  ColourSpecification,
  Family,
  Finish,
  StoredFinish,
} from '../core/finish/finish.ts';
import type { JudgedTolerance } from '../core/finish/judge-difference.ts';
import type { LevelledMap } from '../core/finish/level-map.ts';
import type { MapFacts, MapUse } from '../core/finish/map-facts.ts';
import type { DeliveredColour } from '../core/finish/resolve-finish.ts';
import type { GlossVerdict } from '../core/gloss/judge-gloss.ts';
import type { EventEntry, Way } from '../core/history/history.ts';
import type { Difference } from '../core/history/list-differences.ts';
import type { ImportReading } from '../core/import/measured-row.ts';
import type { ImportPlan } from '../core/import/plan-import.ts';
import type { Line, Options, Rule } from '../core/line/line.ts';
import type { WhereUsed } from '../core/line/where-used.ts';
import type { SwatchDescription } from '../core/picture/swatch-description.ts';
import type { ListedRevision, StoredImage } from '../core/ports/stores.ts';
import type { Budget } from '../core/product/budgets.ts';
import type { ModelChanges } from '../core/product/compare-models.ts';
import type { Finding, Verdict } from '../core/product/finding.ts';
import type { Product } from '../core/product/product.ts';
import type { GrainProposal } from '../core/product/propose-grain.ts';
import type { Keep } from '../core/product/slot.ts';
import type { GrainMark, Piece, Survey } from '../core/product/survey.ts';
import type { Repair, RepairReport } from '../core/repair/repair.ts';
import type { DiscontinuedProduct, DiscontinuePlan } from '../core/schedule/plan-discontinue.ts';
import type { RuleEffects } from '../core/schedule/rule-effects.ts';
import type { Schedule } from '../core/schedule/schedule.ts';

export interface ProblemAnswer {
  readonly type: string;
  readonly title: string;
  readonly status: number;
  readonly code: string;
  readonly detail: string;
  readonly expected?: unknown;
  readonly received?: unknown;
  readonly where?: string;
  readonly findings?: readonly unknown[];
}

export interface HealthAnswer {
  readonly status: 'ok';
  readonly version: string;
  /** Known once a picture has been taken. */
  readonly renderer: { readonly browser: string; readonly gl: string; readonly driver: string } | null;
}

export interface ProductAnswer extends Product {
  /** Overall size measured in the model. */
  readonly size: Survey['size'];
  readonly model: { readonly revision: number; readonly sha256: string; readonly bytes: number } | null;
  readonly verdict: Verdict;
  /** Number of variants in the schedule. */
  readonly variants: number;
  readonly defaultVariant: string | null;
  readonly deliveries: number;
  /** Address of a picture of the default variant (or of the model as it came); null without a model. */
  readonly picture: string | null;
}

export interface ProductListAnswer {
  readonly products: readonly ProductAnswer[];
}

export interface LineListAnswer {
  readonly lines: readonly (Line & { readonly products: readonly string[] })[];
}

export interface RulesAnswer {
  readonly rules: readonly Rule[];
  /** Each rule in words. */
  readonly words: readonly string[];
}

/** What stopping a finish came to, or in a preview would come to. */
export interface DiscontinueAnswer extends Omit<DiscontinuePlan, 'products'> {
  readonly preview: boolean;
  /** `variants` is how many the schedule has then. */
  readonly products: readonly (Omit<DiscontinuedProduct, 'schedule'> & { readonly variants: number })[];
}

export type WhereUsedAnswer = WhereUsed;

/** How many valid variants there are; a decimal string above 2^53, bounds where the work limit was reached. */
export type CountAnswer = (
  | { readonly count: number | string; readonly exact: true }
  | { readonly lower: number | string; readonly upper: number | string; readonly exact: false }
) & {
  /** With `explain=1`. */
  readonly effects?: Omit<RuleEffects, 'unruled'> & { readonly unruled: number | string };
};

export interface SlotAnswer {
  readonly slot: string;
  readonly label: string;
  readonly position: string | null;
  readonly materials: readonly string[];
  readonly primitives: number;
  readonly triangles: number;
  readonly options: Options | null;
  /** What the options come to, in the range's order. */
  readonly allowed: readonly { readonly finish: string; readonly grade: string | null; readonly status: string }[];
  readonly fixed: boolean;
  readonly keep: Keep;
  readonly grainDegrees: number;
  /** Directions by family that follow the part, in the place of `grainDegrees`; null once a person has set that, a 0 as well. */
  readonly directions: Partial<Record<Family, number>> | null;
  /** Whether `keep.normal` was set by a person, or follows from what the part's own normal map holds. */
  readonly normalFrom: 'person' | 'model';
  /** A direction to take over by `grainDegrees`, for what the slot may take. */
  readonly proposedGrain: GrainProposal | null;
  /** Where the direction is shown best. */
  readonly grainMark: GrainMark | null;
}

export interface SlotListAnswer {
  readonly slots: readonly SlotAnswer[];
}

export type SurveyAnswer = Survey & { readonly pieces?: readonly Piece[] };

export interface ModelAnswer {
  readonly revision: number;
  /** False when it was held back: it waits until it is used. */
  readonly current: boolean;
  readonly sha256: string;
  readonly bytes: number;
  readonly survey: Survey;
  readonly slots: readonly SlotAnswer[];
  readonly findings: readonly Finding[];
  /** What came of every step of the preparation. */
  readonly prepared: readonly RepairReport[];
  /** Against the model that was current; null for the first. */
  readonly changes: ModelChanges | null;
}

export interface ReadinessAnswer {
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  /** The findings' repairs as one chain, in the order they are best made; what has to be asked is left out. */
  readonly proposals: readonly Repair[];
}

/** What repairs made, or in a preview would make, of the model. */
export interface RepairAnswer extends ReadinessAnswer {
  /** Null for a preview. */
  readonly revision: number | null;
  readonly sha256: string;
  readonly bytes: number;
  readonly reports: readonly RepairReport[];
  readonly survey: Survey;
  readonly slots: readonly SlotAnswer[];
  readonly changes: ModelChanges;
}

export interface PreparationAnswer {
  /** Made on every new model of the product. */
  readonly steps: readonly Repair[];
  /** Steps the current revision was made by. */
  readonly made: readonly Repair[];
  /** What came of those between the current revision and the one before. */
  readonly reports: readonly RepairReport[];
}

export interface RevisionListAnswer {
  /** The latest first; `model` is the address of its bytes. */
  readonly revisions: readonly (ListedRevision & { readonly model: string })[];
}

/** What the variants a model carries came to. */
export interface TakenVariantsAnswer {
  /** Codes of the finishes its materials have become, or were already. */
  readonly finishes: readonly string[];
  readonly variants: readonly { readonly code: string; readonly name: string }[];
  readonly default: string;
  readonly slots: readonly SlotAnswer[];
  /** Set where parts of one material change differently: a model in which they have materials of their own. */
  readonly revision: number | null;
  /** Primitives with variants that draw nothing and have no slot. */
  readonly leftOut: number;
}

export interface BudgetListAnswer {
  readonly budgets: readonly Budget[];
}

export interface ResolvedAnswer {
  /** How far it is from what was specified, and what could not be of this world. */
  readonly findings: readonly Finding[];
  /** Linear RGB. */
  readonly baseColorFactor: readonly number[];
  readonly roughness: number;
  readonly metalness: number;
  readonly clearcoatRoughness: number;
  /** Gloss units a meter would read at 60°; null for surfaces whose gloss is not read like that. */
  readonly gu60: number | null;
  /** What the gloss reading came to; null without one. */
  readonly gloss: GlossVerdict | null;
  /** What conversions between gloss and roughness rest on, in words; absent where there are none. */
  readonly glossBasis?: string;
  /** The colour of the surface, or the mean of its pattern, in 8 bits: what a chip shows. */
  readonly hex: string;
  readonly colourFrom: ColourSource;
  /** The colour it is held against, as it was given; null where the map's own is all there is. */
  readonly specification: ColourSpecification | null;
  /** Area mean of what is delivered (factor × colour map, coat and sheen aside); null where it cannot be measured. */
  readonly delivered: DeliveredColour | null;
  /** How the colour map is laid; null without one. */
  readonly levelled: LevelledMap | null;
  readonly lab: { readonly value: Lab; readonly illuminant: 'D65'; readonly observer: '2deg' };
  readonly outOfGamutDeltaE: number;
  /** ΔE00 that an estimated colour may be off, as a rule and in nineteen cases of twenty; null where it is exact. */
  readonly estimated: { readonly typicalDeltaE: number; readonly worstDeltaE: number } | null;
  /** CIE Lab, D65, 2°, as read with the reflection of the surface, where that was taken out. */
  readonly includedLab?: Lab;
  /** ΔE00 of the chip from what was specified. */
  readonly chipDeltaE: number;
  /** ΔE00 of the colour signed off for screens from what was specified; null without one. */
  readonly displayDeltaE: number | null;
  /** What the trade allows between what was specified and what is delivered. */
  readonly tolerance: JudgedTolerance;
}

export interface FinishAnswer extends StoredFinish {
  readonly resolved: ResolvedAnswer;
  /** ΔE00 to the colour asked for, where one was. */
  readonly deltaE?: number;
}

/** A swatch in figures; `picture` is its address. */
export interface SwatchAnswer extends SwatchDescription {
  readonly picture: string;
}

export interface RevisionAnswer {
  readonly revision: number;
  readonly how: Way;
  /** ISO 8601; null for what was there before histories were kept. */
  readonly at: string | null;
  /** As it was stated; null where nobody said. */
  readonly person: string | null;
  readonly note?: string;
  /** Nothing of this code was there before it, or what was there had been deleted: it is compared with nothing. */
  readonly starts: boolean;
  readonly changes: readonly Difference[];
}

export interface FinishRevisionAnswer extends RevisionAnswer {
  /** The colour it then had on screens. */
  readonly hex: string;
  /** ΔE00 between the colours specified in this revision and the one before; left out where it starts something. */
  readonly deltaE?: number;
}

export interface FinishHistoryAnswer {
  /** The latest first, as are the events. */
  readonly revisions: readonly FinishRevisionAnswer[];
  /** What befell the finish without changing it. */
  readonly events: readonly EventEntry[];
}

export interface ArticleHistoryAnswer {
  readonly revisions: readonly RevisionAnswer[];
}

type PastAnswer = Omit<RevisionAnswer, 'starts' | 'changes'>;

export interface PastFinishAnswer extends PastAnswer {
  readonly finish: Finish;
  /** Its article as it was then; null without one. */
  readonly article: (Article & { readonly revision: number }) | null;
  readonly resolved: Omit<ResolvedAnswer, 'findings' | 'tolerance'>;
}

export interface PastArticleAnswer extends PastAnswer {
  readonly article: Article;
}

export interface ApprovalsAnswer extends Standing {
  /** Oldest first. */
  readonly approvals: readonly Approval[];
  readonly caution: string;
}

export interface AlikeAnswer {
  /** CIEDE2000 up to which pairs are listed. */
  readonly deltaE: number;
  readonly pairs: readonly { readonly finishes: readonly [string, string]; readonly deltaE: number }[];
}

export interface FinishListAnswer {
  readonly finishes: readonly FinishAnswer[];
}

/** What an import did, or would do, line by line. */
export interface ImportAnswer extends Omit<ImportPlan, 'finishes'> {
  readonly format: ImportReading['format'];
  /** False for a dry run, and when a refused line kept all out. */
  readonly stored: boolean;
}

export interface ArticleListAnswer {
  readonly articles: readonly Article[];
}

/** Carries an ETag to be sent back as If-Match. */
export interface ScheduleAnswer extends Schedule {
  readonly findings: readonly Finding[];
}

export interface ExpandAnswer extends ScheduleAnswer {
  readonly added: number;
  readonly total: number;
}

export interface CheckSetAnswer extends ScheduleAnswer, CheckSetFigures {}

/** What a check set would add. */
export interface CheckSetPreview extends CheckSetFigures {
  readonly preview: true;
}

export interface CheckSetFigures {
  readonly added: number;
  /** Rows that stood before and are valid: they count as shown. */
  readonly standing: number;
  /** Finishes, or pairs of them, that the schedule now shows: all that occur in some valid combination. */
  readonly finishes?: number;
  readonly pairs?: number;
  /** Those that no valid combination holds; of these, so many were only given up. */
  readonly impossible: number;
  readonly unsettled: number;
  /** Without rules no set has fewer rows. */
  readonly bound: number;
}

export interface DeliveryAnswer {
  readonly delivery: number;
  readonly sha256: string;
  readonly bytes: number;
  readonly variants: number;
  readonly findings: readonly Finding[];
  /** Addresses of the file and its manifest. */
  readonly model: string;
  readonly manifest: string;
}

export interface DeliveryListAnswer {
  readonly deliveries: readonly (DeliverySummary & { readonly model: string; readonly manifest: string })[];
}

/** What a live preview needs: a file with a material for every finish a slot may take, and which part wears which. */
export interface LookAnswer {
  readonly file: string;
  readonly mount: string;
  readonly parts: readonly {
    readonly slot: string;
    readonly mesh: number;
    readonly primitive: number;
    /** Finish code to material index in the file. */
    readonly materials: Readonly<Record<string, number>>;
  }[];
}

/** An uploaded image, what was measured of it, and findings of it as a map: whatever its use, and by use. */
export interface FileAnswer extends StoredImage {
  /** Null where it was not measured, as KTX2 is not. */
  readonly facts: MapFacts | null;
  readonly looksLike: 'normal' | 'grey' | 'colour' | null;
  readonly findings: readonly Finding[];
  readonly uses: Readonly<Record<MapUse, readonly Finding[]>>;
}
