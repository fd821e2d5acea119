/**
 * Keeps the focus on the page. An element that had it may be disabled for a while, or go away: then the browser gives the
 * focus to the body, and a person at the keyboard starts at the top again. This gives it back to the same element once it
 * can have it, or to the heading of the nearest section that is still there.
 */
export function keepFocus(): void {
  let last: HTMLElement | null = null;
  /** The last element and its ancestors, from the inside out. */
  let trail: readonly Element[] = [];
  let waiting = false;

  document.addEventListener('focusin', ({ target }) => {
    if (!(target instanceof HTMLElement)) return;
    last = target;
    trail = listAncestors(target);
  });
  document.addEventListener('pointerdown', ({ target }) => {
    // a press beside everything leaves on purpose
    if (target instanceof Element && !target.closest(FOCUSABLE)) last = null;
  });

  function restore(): void {
    waiting = false;
    const { activeElement } = document;
    if (!last || (activeElement && activeElement !== document.body)) return;
    if (last.isConnected) last.focus({ preventScroll: true });
    else findHeading(trail)?.focus({ preventScroll: true });
  }

  new MutationObserver(() => {
    if (waiting) return;
    waiting = true;
    // the browser moves the focus away with the next frame, and effects of the page may move it before that
    requestAnimationFrame(() => setTimeout(restore));
  }).observe(document.body, { subtree: true, childList: true, attributes: true, attributeFilter: ['disabled'] });
}

const FOCUSABLE = 'a[href], button, input, select, textarea, summary, label, [tabindex]';

function listAncestors(element: Element): Element[] {
  const ancestors: Element[] = [];
  for (let each: Element | null = element; each; each = each.parentElement) ancestors.push(each);
  return ancestors;
}

/** The first heading inside the innermost ancestor that is still on the page and has one. */
function findHeading(trail: readonly Element[]): HTMLElement | null {
  for (const each of trail) {
    const heading = each.isConnected ? each.querySelector<HTMLElement>('h1, h2, h3, legend, summary') : null;
    if (!heading) continue;
    if (heading.localName !== 'summary') heading.tabIndex = -1;
    return heading;
  }
  return null;
}
