import './styles/index.css';
import { render } from 'preact';
import { AccountPage } from './pages/access/account-page.tsx';
import { PassphrasePage } from './pages/access/passphrase-page.tsx';
import { PeoplePage } from './pages/access/people-page.tsx';
import { FinishesPage } from './pages/finishes/finishes-page.tsx';
import { HomePage } from './pages/home/home-page.tsx';
import { ImportPage } from './pages/import/import-page.tsx';
import { LinePage } from './pages/line/line-page.tsx';
import { PictureSetsPage } from './pages/picture-sets/picture-sets-page.tsx';
import { ProductPage } from './pages/product/product-page.tsx';
import { Heading, Shell } from './parts/shell.tsx';
import { SignIn } from './parts/sign-in.tsx';
import { route, startRouter } from './router.ts';
import { loadSession } from './session.ts';
import { commonTexts } from './texts/common.ts';

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
          <p>
            <a href="/">{commonTexts.shell.home}</a>
          </p>
        </>
      );
  }
}

startRouter();
void loadSession();
render(
  <Shell>
    <SignIn />
    <Page />
  </Shell>,
  document.getElementById('page')!,
);
