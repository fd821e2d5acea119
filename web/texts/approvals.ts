/** Texts of decisions on finishes and variants. */
export const approvalTexts = {
  heading: 'Approval',
  decision: 'Decision',
  decisions: { submitted: 'Submitted', approved: 'Approved', rejected: 'Rejected' },
  person: 'Person',
  light: 'Light',
  lights: { D65: 'D65, daylight', A: 'A, incandescent light', F11: 'F11, shop light' },
  viewed: 'Viewed',
  views: { screen: 'On a screen', sample: 'Against the sample' },
  reason: 'Reason',
  optionalReason: 'Reason (optional)',
  record: 'Record decision',
  none: 'No decision yet.',
  lapsed: (round: number, because: string) => `The decision of round ${round} has lapsed. ${because}`,
  standing: (decision: string, round: number) => `${decision}, round ${round}.`,
  entry: (entry: {
    readonly round: number;
    readonly date: string;
    readonly decision: string;
    readonly person: string;
    readonly viewed: string;
    readonly light: string;
    readonly reason: string | undefined;
  }) =>
    `Round ${entry.round}, ${entry.date}: ${entry.decision.toLowerCase()} by ${entry.person}, ${entry.viewed.toLowerCase()}, light ${entry.light}${entry.reason ? `. Reason: ${entry.reason}` : ''}`,

  // the state beside a name in a list
  marks: { submitted: 'submitted', approved: 'approved', rejected: 'rejected', lapsed: 'approval lapsed' },
} as const;
