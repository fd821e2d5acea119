import './styles/index.css';
import { render } from 'preact';
import { keepFocus } from './parts/keep-focus.ts';
import { lazyPage } from './parts/lazy-page.tsx';
import { Heading, Shell } from './parts/shell.tsx';
import { SignIn } from './parts/sign-in.tsx';
import { route, startRouter } from './router.ts';
import { loadSession } from './session.ts';
import { commonTexts } from './texts/common.ts';

// each page is fetched when it is shown first
const HomePage = lazyPage(() => import('./pages/home/home-page.tsx').then((page) => page.HomePage));
const AccountPage = lazyPage(() => import('./pages/access/account-page.tsx').then((page) => page.AccountPage));
const PassphrasePage = lazyPage(() => import('./pages/access/passphrase-page.tsx').then((page) => page.PassphrasePage));
const PeoplePage = lazyPage(() => import('./pages/access/people-page.tsx').then((page) => page.PeoplePage));
const FinishesPage = lazyPage(() => import('./pages/finishes/finishes-page.tsx').then((page) => page.FinishesPage));
const ImportPage = lazyPage(() => import('./pages/import/import-page.tsx').then((page) => page.ImportPage));
const LinePage = lazyPage(() => import('./pages/line/line-page.tsx').then((page) => page.LinePage));
const PictureSetsPage = lazyPage(() =>
  import('./pages/picture-sets/picture-sets-page.tsx').then((page) => page.PictureSetsPage),
);
const ProductPage = lazyPage(() => import('./pages/product/product-page.tsx').then((page) => page.ProductPage));

function Page() {
  const now = route.value;
  switch (now.page) {
    case 'home':
      return <HomePage />;
    case 'product':
      return <ProductPage key={now.code} code={now.code} sheet={now.sheet} />;
    case 'line':
      return <LinePage key={now.code} code={now.code} />;
    case 'finishes':
      return <FinishesPage />;
    case 'import':
      return <ImportPage />;
    case 'picture-sets':
      return <PictureSetsPage />;
    case 'people':
      return <PeoplePage />;
    case 'account':
      return <AccountPage />;
    case 'passphrase':
      return <PassphrasePage />;
    case 'missing':
      return (
        <>
          <Heading text={commonTexts.shell.missingPage} />
          <p class="lead measure">{commonTexts.shell.missingNote}</p>
          <p>
            <a class="button" href="/">
              {commonTexts.shell.missingStart}
            </a>
          </p>
        </>
      );
  }
}

startRouter();
keepFocus();
void loadSession();
render(
  <Shell>
    <SignIn />
    <Page />
  </Shell>,
  document.getElementById('page')!,
);
