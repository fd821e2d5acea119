export type Severity = 'error' | 'warning' | 'note';

/** Codes that programs rely on, each with the severity it has unless a check says otherwise. */
export const FINDINGS = {
  'unit-slip': 'warning',
  'size-implausible': 'warning',
  'size-off-sheet': 'warning',
  'colour-map-blocks-recolour': 'note',
  'alpha-in-colour-map': 'note',
  'vertex-colours-tint': 'note',
  'missing-uv': 'warning',
  'uv-scale-unknown': 'warning',
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
  'slot-not-in-model': 'note',
  'slot-is-fixed': 'note',
  'finish-not-in-options': 'error',
  'finish-discontinued': 'warning',
  'name-contains-name': 'note',
  'renamed-since-delivery': 'warning',
  'out-of-gamut': 'warning',
  'finish-map-dropped': 'note',
  'no-schedule': 'note',
} as const satisfies Record<string, Severity>;

export type FindingCode = keyof typeof FINDINGS;

/** One remark of a check. Findings are not errors: a check returns them, it never throws them. */
export interface Finding {
  readonly code: FindingCode;
  readonly severity: Severity;
  /** JSON pointer into the model, or a place in trade words. */
  readonly where: string;
  readonly message: string;
  readonly seen?: unknown;
  readonly expected?: unknown;
  readonly repairs?: readonly { readonly repair: string; readonly [setting: string]: unknown }[];
}

export type Verdict = 'ready' | 'attention' | 'blocked';

export function makeFinding(
  code: FindingCode,
  finding: Omit<Finding, 'code' | 'severity'>,
  severity?: Severity,
): Finding {
  return { code, severity: severity ?? FINDINGS[code], ...finding };
}

/** An error blocks, a warning wants attention, notes alone leave a model ready. */
export function judge(findings: readonly Finding[]): Verdict {
  if (findings.some((finding) => finding.severity === 'error')) return 'blocked';
  return findings.some((finding) => finding.severity === 'warning') ? 'attention' : 'ready';
}
