// Fresnel's equations for a boundary between a transparent material and air, and what follows from
// them in closed form. Index n > 1 of the material against air; angles in degrees between the ray
// and the facet's normal. Source: Born and Wolf, Principles of Optics, 7th ed., section 1.5.
// Thread contract: pure functions.
#pragma once

namespace macle {

// Shares of the power thrown back, of light polarised across (s) and in (p) the plane of incidence.
struct Reflectances {
    double s = 0.0;
    double p = 0.0;
    double mean() const { return 0.5 * (s + p); }  // of unpolarised light
};

// From air on to the material, and from inside the material; 1 beyond the critical angle.
Reflectances reflectanceOutside(double index, double angle_deg);
Reflectances reflectanceInside(double index, double angle_deg);

double criticalAngle_deg(double index);  // asin(1 / n)
double brewsterAngle_deg(double index);  // atan(n), from air

// Share of diffuse light (the same radiance from every direction of the half space outside) that
// the surface throws back: the mean over the hemisphere weighted by the cosine, by Gauss-Legendre
// quadrature.
double diffuseReflectance(double index);

}  // namespace macle
