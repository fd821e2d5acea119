/** Name of the folder under `.build`, and the configuration that builds it. */
export const BUILT_PARTS: Readonly<Record<string, string>>;
/** When the newest of these files and folders was changed, ms. A file that was removed changes its folder. */
export function findNewest(paths: readonly string[]): number;
