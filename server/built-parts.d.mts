/** Name of the folder under `.build`, and the configuration that builds it. */
export const BUILT_PARTS: Readonly<Record<string, string>>;
