/* Reads hour angle, declination and latitude (radians) a line; writes ERFA's azimuth and elevation. */
#include <erfa.h>
#include <stdio.h>

int main(void) {
  double ha, dec, phi, az, el;
  while (scanf("%lf %lf %lf", &ha, &dec, &phi) == 3) {
    eraHd2ae(ha, dec, phi, &az, &el);
    printf("%.17g %.17g\n", az, el);
  }
  return 0;
}
