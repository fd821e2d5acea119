import { signal } from '@preact/signals';

type Route =
  | { readonly page: 'home' }
  | { readonly page: 'product'; readonly code: string }
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
  if (parts.length === 2 && parts[0] === 'products') return { page: 'product', code };
  if (parts.length === 2 && parts[0] === 'lines') return { page: 'line', code };
  return { page: 'missing' };
}

export function navigate(path: string): void {
  history.pushState(null, '', path);
  route.value = matchRoute(location.pathname);
  window.scrollTo(0, 0);
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
