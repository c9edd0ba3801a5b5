#include "core/base/material.h"

#include <gtest/gtest.h>

#include "core/base/error.h"

namespace macle {
namespace {

// F. Peter, Z. Phys. 15 (1923) 358-368: indices at the Fraunhofer lines.
TEST(Material, DiamondBendsLightAsMeasured) {
    const Material diamond = loadMaterial("diamond");
    EXPECT_NEAR(refractiveIndex(diamond, 589.3), 2.41726, 5e-6);
    EXPECT_NEAR(refractiveIndex(diamond, 686.7), 2.40728, 5e-6);
    EXPECT_NEAR(refractiveIndex(diamond, 430.79), 2.45173, 5e-6);
    EXPECT_NEAR(refractiveIndex(diamond, 430.79) - refractiveIndex(diamond, 686.7), 0.04445, 1e-5);
}

// Density from the lattice constant 3.56683 Angstrom, 8 atoms of 12.0107 per cell.
TEST(Material, DiamondWeighsWhatItsLatticeSays) {
    const double cell_cm3 = 3.56683e-8 * 3.56683e-8 * 3.56683e-8;
    const double lattice = 8.0 * 12.0107 / 6.02214076e23 / cell_cm3;
    EXPECT_NEAR(lattice, 3.5161, 1e-4);
    EXPECT_NEAR(loadMaterial("diamond").density_g_cm3, lattice, 0.002);
}

TEST(Material, RefusesUnknownNamesAndPaths) {
    EXPECT_THROW(loadMaterial("kryptonite"), Error);
    EXPECT_THROW(loadMaterial("../materials/diamond"), Error);
    EXPECT_THROW(loadMaterial(""), Error);
}

}  // namespace
}  // namespace macle
