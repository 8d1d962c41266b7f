/** What files and reports say they were written by. A test holds it equal to package.json. */
export const appName = 'Beat Ledger';
export const appVersion = '0.1.0';
