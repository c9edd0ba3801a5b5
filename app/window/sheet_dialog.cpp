#include "app/window/sheet_dialog.h"

#include <QDialogButtonBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QScrollArea>
#include <QSlider>
#include <QSpinBox>
#include <QVBoxLayout>

#include "app/print/plan_sheet_drawing.h"

namespace macle::app {
namespace {

constexpr double kPaperWidth_in = 210.0 / 25.4;
constexpr int kZoomLow = 50, kZoomHigh = 300;  // percent of the width of the dialog

}  // namespace

SheetDialog::SheetDialog(std::shared_ptr<const PlanSheet> sheet, QWidget* parent)
    : SteadyDialog(parent), sheet_(std::move(sheet)), pages_(planSheetPages(*sheet_)) {
    setObjectName("sheetDialog");
    setWindowTitle(tr("Plan sheet of %1, %2")
                       .arg(QString::fromStdString(sheet_->layoutName),
                            QString::fromStdString(sheet_->state.state)));
    resize(860, 900);
    auto* column = new QVBoxLayout(this);
    auto* row = new QHBoxLayout;
    auto* caption = new QLabel(tr("&Page"));
    page_ = new QSpinBox;
    page_->setObjectName("sheetPage");
    page_->setRange(1, pages_);
    page_->setSuffix(tr(" of %1").arg(pages_));
    caption->setBuddy(page_);
    auto* size = new QLabel(tr("Si&ze"));
    zoom_ = new QSlider(Qt::Horizontal);
    zoom_->setObjectName("sheetZoom");
    zoom_->setAccessibleName(tr("Size of the page in percent of the width"));
    zoom_->setRange(kZoomLow, kZoomHigh);
    zoom_->setPageStep(25);
    zoom_->setValue(100);
    zoom_->setMaximumWidth(200);
    size->setBuddy(zoom_);
    row->addWidget(caption);
    row->addWidget(page_);
    row->addSpacing(16);
    row->addWidget(size);
    row->addWidget(zoom_);
    row->addStretch(1);
    column->addLayout(row);
    paper_ = new QLabel;
    paper_->setObjectName("sheetPaper");
    paper_->setAlignment(Qt::AlignCenter);
    scroll_ = new QScrollArea;
    scroll_->setWidget(paper_);
    scroll_->setWidgetResizable(true);
    scroll_->setAlignment(Qt::AlignHCenter);
    column->addWidget(scroll_, 1);
    auto* files = new QHBoxLayout;
    const auto button = [&](const char* name, const QString& text, const QString& tip,
                            const QString& ending, auto told) {
        auto* made = new QPushButton(text);
        made->setObjectName(name);
        made->setToolTip(tip);
        connect(made, &QPushButton::clicked, this, [this, ending, told] { (this->*told)(ending); });
        files->addWidget(made);
    };
    button("sheetPdf", tr("Write &PDF…"), tr("The sheet as it is shown"), "pdf",
           &SheetDialog::writeAsked);
    button("sheetCsv", tr("Write C&SV…"), tr("The same figures for a table"), "csv",
           &SheetDialog::writeAsked);
    button("sheetJson", tr("Write &JSON…"), tr("The same figures for another program"), "json",
           &SheetDialog::writeAsked);
    button("marksDxf", tr("Marks as &DXF…"),
           tr("The lines of reference face and saws on the skin, as 3D polylines in mm"), "dxf",
           &SheetDialog::marksAsked);
    button("marksSvg", tr("Marks as S&VG…"),
           tr("The lines of reference face and saws on the skin, drawn from several sides"), "svg",
           &SheetDialog::marksAsked);
    files->addStretch(1);
    auto* close = new QPushButton(tr("&Close"));
    connect(close, &QPushButton::clicked, this, &QDialog::close);
    files->addWidget(close);
    column->addLayout(files);
    connect(page_, &QSpinBox::valueChanged, this, [this] { draw(); });
    connect(zoom_, &QSlider::valueChanged, this, [this] { draw(); });
    page_->setFocus();
}

void SheetDialog::showPage(int number) {
    page_->setValue(number);
}

void SheetDialog::resizeEvent(QResizeEvent* event) {
    SteadyDialog::resizeEvent(event);
    draw();
}

void SheetDialog::draw() {
    const double ratio = devicePixelRatioF();
    const double width = scroll_->viewport()->width() * zoom_->value() / 100.0;
    QImage page = planSheetImage(*sheet_, page_->value(), pages_, ratio * width / kPaperWidth_in);
    page.setDevicePixelRatio(ratio);
    paper_->setPixmap(QPixmap::fromImage(page));
    paper_->setAccessibleName(tr("Page %1 of the plan sheet").arg(page_->value()));
}

}  // namespace macle::app
