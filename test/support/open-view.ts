import { launch, type Page } from 'puppeteer-core';
import { GL_WAYS } from '../../renderer/driver.ts';
import { findBrowser, NO_SANDBOX } from '../renderer/built-studio.ts';

/** A browser of its own with WebGL in software, for the live view. Closing it is the caller's. */
export const openGlBrowser = () =>
  launch({
    executablePath: findBrowser(),
    args: [...GL_WAYS[0]!.flags, ...(NO_SANDBOX ? ['--no-sandbox'] : []), '--disable-sync', '--no-first-run'],
  });

/** Ends of the line with the figure of one side, px of the window. */
export async function readDimension(page: Page, index: number): Promise<{ from: number; to: number }> {
  return page.evaluate((at) => {
    const path = document.querySelectorAll('.dimensions > g:not(.floor-mark)')[at]!.querySelectorAll('path')[1]!;
    const [from, to] = path
      .getAttribute('d')!
      .split('M')[1]!
      .split('L')
      .map((place) => Number(place.split(' ')[0]));
    const { left } = document.querySelector('.dimensions')!.getBoundingClientRect();
    return { from: left + from!, to: left + to! };
  }, index);
}
