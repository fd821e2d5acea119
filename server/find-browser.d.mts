export function findBrowser(asked: string | null | undefined): string | null;
/** Where puppeteer keeps the browsers it downloads. */
export function getDownloadFolder(): string;
