#include "app/print/plan_sheet_pdf.h"

#include <QBuffer>
#include <QPageLayout>
#include <QPageSize>
#include <QPdfWriter>
#include <QSaveFile>

#include "app/print/page_target.h"
#include "app/print/plan_sheet_drawing.h"
#include "core/base/error.h"

namespace macle::app {

namespace {

class PdfPages : public PageTarget {
  public:
    explicit PdfPages(QPdfWriter& writer) : writer_(writer) {
        if (!painter_.begin(&writer))
            throw Error(ErrorCode::Io, "The sheet cannot be drawn.", "Check the disk space.");
    }
    QPainter& page(int number) override {
        if (number > 1 && !writer_.newPage())
            throw Error(ErrorCode::Io, "A page of the sheet could not be written.",
                        "Check the disk space.");
        return painter_;
    }

  private:
    QPdfWriter& writer_;
    QPainter painter_;
};

}  // namespace

void writePlanSheetPdf(const PlanSheet& sheet, const std::filesystem::path& file) {
    const auto qt = [](const std::string& text) { return QString::fromStdString(text); };
    const int pages = planSheetPages(sheet);
    QByteArray bytes;
    {
        QBuffer buffer(&bytes);
        buffer.open(QIODevice::WriteOnly);
        QPdfWriter writer(&buffer);
        writer.setResolution(kUnitsPerInch);
        writer.setPageLayout(
            QPageLayout(QPageSize(QPageSize::A4), QPageLayout::Portrait, QMarginsF(0, 0, 0, 0)));
        writer.setTitle(QStringLiteral("Plan sheet: ") + qt(sheet.stoneName) +
                        QStringLiteral(", ") + qt(sheet.layoutName));
        writer.setCreator(QStringLiteral("Macle"));
        PdfPages target(writer);
        require(drawPlanSheet(sheet, target, pages) == pages,
                "the plan sheet has the pages it says");
    }
    QSaveFile target(qt(file.string()));
    if (bytes.isEmpty() || !target.open(QIODevice::WriteOnly) ||
        target.write(bytes) != bytes.size() || !target.commit())
        throw Error(ErrorCode::Io,
                    "The file " + file.string() +
                        " could not be written: " + target.errorString().toStdString() + ".",
                    "Check that its folder exists and may be written to.");
}

}  // namespace macle::app
