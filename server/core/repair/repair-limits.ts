/** How much one list of repairs may say; more is a mistake, or written by no person and no proposal. */
export const REPAIR_LIMITS = {
  repairs: 500,
  /** Groups of one separation: a model of more slots than this is nothing anybody chooses finishes for. */
  groups: 100,
  /** Pieces or shapes of one group; as many as a survey lists. */
  pieces: 20_000,
  /** Materials or meshes named by one repair. */
  references: 10_000,
} as const;
