// The plate's page: recording in the page, and a spectrum that can be looked into.

import { records } from "./record.js";
import { spectra } from "./spectrum.js";

records();
spectra();
