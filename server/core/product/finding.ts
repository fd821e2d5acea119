import type { Repair } from '../repair/repair.ts';
import { describeFinding, type FiguresOf, type FindingText } from '../texts/finding-texts.ts';

export type Severity = 'error' | 'warning' | 'note';

/** Codes that programs rely on, each with its default severity. */
export const FINDINGS = {
  'unit-slip': 'warning',
  'size-implausible': 'warning',
  'size-off-sheet': 'warning',
  'off-mount': 'warning',
  'unbaked-transform': 'note',
  'many-pieces': 'warning',
  'one-material-many-pieces': 'warning',
  'metal-on-nonmetal': 'warning',
  'missing-map': 'note',
  'implausible-map': 'warning',
  'constant-map': 'note',
  'missing-normals': 'note',
  'uv-overlap': 'note',
  'uv-stretch': 'note',
  'texture-too-large': 'warning',
  'texture-quality': 'note',
  'image-undecodable': 'warning',
  'image-misplaced': 'warning',
  'file-too-heavy': 'warning',
  'too-many-triangles': 'warning',
  'too-many-draws': 'warning',
  'unused-content': 'note',
  'hidden-content': 'note',
  'broken-geometry': 'warning',
  'geometry-undecodable': 'error',
  'faces-inward': 'warning',
  'scene-lists-child': 'warning',
  'damaged-value': 'warning',
  'dangling-reference': 'warning',
  'damaged-animation': 'note',
  'no-scene': 'note',
  'undeclared-extension': 'note',
  'loose-files': 'note',
  'carries-animation': 'note',
  'preparation-step-unfit': 'warning',
  'out-of-reach': 'warning',
  'colour-map-blocks-recolour': 'note',
  'alpha-in-colour-map': 'note',
  'vertex-colours-tint': 'note',
  'missing-uv': 'warning',
  'uv-scale-unknown': 'warning',
  'uneven-density': 'warning',
  'shared-mesh': 'note',
  'unnamed-material': 'note',
  'duplicate-material-name': 'note',
  'dead-bytes': 'note',
  'unknown-extension': 'warning',
  'animated-material': 'note',
  'carries-variants': 'note',
  validator: 'warning',
  'nothing-to-draw': 'error',
  'slot-without-finish': 'warning',
  'slot-not-in-model': 'warning',
  'slot-is-fixed': 'note',
  'finish-not-in-options': 'error',
  'finish-discontinued': 'error',
  'finish-phased-out': 'note',
  'rule-broken': 'error',
  'name-contains-name': 'note',
  'sku-unusable': 'error',
  'sku-collides': 'error',
  'sku-taken': 'error',
  'renamed-since-delivery': 'warning',
  'same-choices': 'warning',
  'name-says-another-finish': 'warning',
  'out-of-gamut': 'warning',
  'pattern-off-colour': 'warning',
  'pattern-flattened': 'note',
  'map-not-measured': 'warning',
  'colour-estimated': 'note',
  'gloss-out-of-reach': 'warning',
  'gloss-not-read': 'note',
  'finish-map-dropped': 'note',
  'direction-missed': 'warning',
  'wear-dropped': 'note',
  'normals-not-combined': 'note',
  'double-sided-body': 'note',
  'map-not-tileable': 'warning',
  'map-not-power-of-two': 'note',
  'map-wrong-content': 'warning',
  'map-profile': 'note',
  'map-depth': 'note',
  moire: 'warning',
  'anisotropy-dropped': 'note',
  'thickness-uneven': 'warning',
  'albedo-implausible': 'warning',
  'metal-too-dark': 'warning',
  'surface-implausible': 'warning',
  'no-schedule': 'note',
  'view-left-out': 'note',
  'variant-without-gtin': 'note',
} as const satisfies Record<string, Severity>;

export type FindingCode = keyof typeof FINDINGS;

/** One result of a check. Findings are not errors: a check returns them and never throws them. */
export interface Finding {
  readonly code: FindingCode;
  readonly severity: Severity;
  /** JSON pointer into the model, or a place in trade terms. */
  readonly where: string;
  /** The same place for a person: the part or material. */
  readonly place?: string;
  readonly message: string;
  readonly seen?: unknown;
  readonly expected?: unknown;
  /**
   * Ready-made repairs that settle it. If there are several `scale` or several `separate-pieces`, the user chooses one.
   */
  readonly repairs?: readonly Repair[];
  /** If one cause has several places: each place with its own message and figures. */
  readonly places?: readonly FindingPlace[];
  /** Set if a person must choose. Its repairs are offered but not proposed. */
  readonly asks?: boolean;
}

export type FindingPlace = Omit<Finding, 'code' | 'severity' | 'places' | 'asks'>;

/** The facts of a finding apart from its message. */
type FindingFacts = Omit<Finding, 'code' | 'severity' | 'message'>;

/**
 * Makes a finding with a message from the catalogue.
 * @param text key of the message: the code, or the code and a case
 * @param severity default: that of the code
 */
export function makeFinding<T extends FindingText>(
  text: T,
  figures: FiguresOf<T>,
  facts: FindingFacts,
  severity?: Severity,
): Finding {
  const code = text.split(':')[0] as FindingCode;
  return { code, severity: severity ?? FINDINGS[code], message: describeFinding(text, figures), ...facts };
}
