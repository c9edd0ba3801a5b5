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

// Tables of gemmology: densities and n(D) seen in several, dispersions B to G in part from memory.
TEST(Material, OtherStonesBendAndWeighAsTheTablesSay) {
    struct Row {
        const char* name;
        double density, index, dispersion;
    };
    for (const Row& row :
         {Row{"corundum", 4.00, 1.768, .018}, Row{"spinel", 3.60, 1.716, .020},
          Row{"beryl", 2.72, 1.580, .014}, Row{"quartz", 2.65, 1.544, .013},
          Row{"topaz", 3.53, 1.620, .014}, Row{"tourmaline", 3.06, 1.634, .017},
          Row{"pyrope", 3.78, 1.74, .022}, Row{"almandine", 4.05, 1.79, .027},
          Row{"rhodolite", 3.84, 1.76, .026}, Row{"demantoid", 3.9, 1.89, .057},
          Row{"zircon", 4.70, 1.925, .039}, Row{"chrysoberyl", 3.73, 1.746, .015},
          Row{"peridot", 3.34, 1.672, .020}, Row{"cubic_zirconia", 5.8, 2.165, .062},
          Row{"moissanite", 3.22, 2.648, .104}}) {
        const Material material = loadMaterial(row.name);
        EXPECT_EQ(material.name, row.name);
        EXPECT_NEAR(material.density_g_cm3, row.density, 1e-12) << row.name;
        EXPECT_NEAR(refractiveIndex(material, 589.3), row.index, 5e-4) << row.name;
        const double blue = refractiveIndex(material, 430.79);
        const double red = refractiveIndex(material, 686.7);
        EXPECT_NEAR(blue - red, row.dispersion, 3e-4) << row.name;
        EXPECT_FALSE(material.source.empty());
        // No pole within what the light uses.
        for (const SellmeierTerm& term : material.sellmeier)
            EXPECT_TRUE(term.c_um2 < 0.36 * 0.36 || term.c_um2 > 100.0) << row.name;
    }
    try {
        loadMaterial("glass");
        FAIL();
    } catch (const Error& error) {
        EXPECT_NE(error.remedy().find("corundum, "), std::string::npos) << error.remedy();
    }
}

TEST(Material, RefusesUnknownNamesAndPaths) {
    EXPECT_THROW(loadMaterial("kryptonite"), Error);
    EXPECT_THROW(loadMaterial("../materials/diamond"), Error);
    EXPECT_THROW(loadMaterial(""), Error);
}

}  // namespace
}  // namespace macle
