import { signal } from '@preact/signals';

/** The sheets of a product's page. Each has an address: `/products/{code}/{sheet}`. */
export const SHEETS = ['model', 'parts', 'schedule', 'deliver'] as const;
export type SheetName = (typeof SHEETS)[number];

type Route =
  | { readonly page: 'home' }
  | { readonly page: 'product'; readonly code: string; readonly sheet: SheetName }
  | { readonly page: 'line'; readonly code: string }
  | { readonly page: 'finishes' }
  | { readonly page: 'import' }
  | { readonly page: 'picture-sets' }
  | { readonly page: 'people' }
  | { readonly page: 'account' }
  | { readonly page: 'passphrase' }
  | { readonly page: 'missing' };

export const route = signal<Route>({ page: 'missing' });

/** The page of a path. */
export function matchRoute(path: string): Route {
  const parts = path.split('/').filter(Boolean);
  let code = '';
  try {
    code = decodeURIComponent(parts[1] ?? '');
  } catch {
    return { page: 'missing' };
  }
  if (parts.length === 0) return { page: 'home' };
  if (parts.length === 1 && parts[0] === 'finishes') return { page: 'finishes' };
  if (parts.length === 2 && parts[0] === 'finishes' && parts[1] === 'import') return { page: 'import' };
  if (parts.length === 1 && parts[0] === 'picture-sets') return { page: 'picture-sets' };
  const [only] = parts;
  if (parts.length === 1 && (only === 'people' || only === 'account' || only === 'passphrase')) return { page: only };
  if (parts[0] === 'products' && (parts.length === 2 || parts.length === 3)) {
    const sheet = parts.length === 2 ? SHEETS[0] : SHEETS.find((name) => name === parts[2]);
    return sheet ? { page: 'product', code, sheet } : { page: 'missing' };
  }
  if (parts.length === 2 && parts[0] === 'lines') return { page: 'line', code };
  return { page: 'missing' };
}

export function navigate(path: string): void {
  const before = route.value;
  history.pushState(null, '', path);
  const next = matchRoute(location.pathname);
  route.value = next;
  // another sheet of the same product keeps the page where it is: its bar and its view stay in sight
  const isSamePage = before.page === 'product' && next.page === 'product' && before.code === next.code;
  if (!isSamePage) window.scrollTo(0, 0);
}

/** Follows the address: back and forward, and plain clicks on links to pages of this site. */
export function startRouter(): void {
  route.value = matchRoute(location.pathname);
  window.addEventListener('popstate', () => {
    route.value = matchRoute(location.pathname);
  });
  document.addEventListener('click', (event) => {
    const link = (event.target as Element).closest?.('a[href]') as HTMLAnchorElement | null;
    if (!link || !isPlain(event) || link.target || link.hasAttribute('download')) return;
    if (link.origin !== location.origin || matchRoute(link.pathname).page === 'missing') return;
    if (link.pathname === location.pathname && link.hash) return;
    event.preventDefault();
    navigate(link.pathname);
  });
}

function isPlain(event: MouseEvent): boolean {
  return (
    event.button === 0 &&
    !event.metaKey &&
    !event.ctrlKey &&
    !event.shiftKey &&
    !event.altKey &&
    !event.defaultPrevented
  );
}
