import { apachePackages } from '../../src/cli/lab-store/apache';
import { nginxPackages } from '../../src/cli/lab-store/nginx';
import { aptInstall, isInstalled } from '../apt';

/** Servers of the tests, from Debian's packages; says what to install where it may not. */
export default function installServers(): void {
  process.env['PATH'] = `${process.env['PATH']}:/usr/sbin:/sbin`;
  const needed = { apache2: apachePackages, htpasswd: apachePackages, nginx: nginxPackages };
  const absent = () => Object.entries(needed).filter(([program]) => !isInstalled(program));
  if (absent().length > 0) aptInstall([...new Set(absent().flatMap(([, packages]) => packages))]);
  const missing = [...new Set(absent().flatMap(([, packages]) => packages))];
  if (missing.length > 0) {
    throw new Error(
      `The tests of a lab's store need ${missing.join(', ')}: run "apt-get install ${missing.join(' ')}" as root.`,
    );
  }
}
