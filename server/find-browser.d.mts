export function findBrowser(asked: string | null | undefined): string | null;
